import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { ableText } from '../../report/phrases/able.js';
import { signedAsText } from '../../report/phrases/release-steps.js';
import { contentText, signedAtText, signerKeyText } from '../../report/phrases/signatures.js';
import { changesTexts, sinceTexts, STATEMENT_PAPER as WORDS } from '../../report/phrases/statement-paper.js';
import { probabilityFigures } from '../../report/probability-figures.js';
import { studyFigures } from '../../report/study-figures.js';
import { studyRows, studyTables } from '../../report/study-rows.js';
import type { CapabilityView } from './view.js';

const mono = (text: string) => ({ text, style: 'mono' as const });

/** The answer first, then what may not be overlooked, what it rests on, and every build by name. */
export function drawStatement(pdf: RecordPage, view: CapabilityView): void {
  const { statement, changes, enclosure } = view;
  const { input, study, number } = statement;
  const item = input.characteristic;
  pdf.title(
    WORDS.title(item.title, input.family),
    `${WORDS.state(number, enclosure.draft)}${enclosure.demo ? WORDS.demo : ''}`,
  );
  pdf.paragraph([{ text: ableText(study.index), style: 'bold' }]);
  const since = sinceTexts(enclosure.since);
  if (since.length > 0) pdf.callout({ kind: 'exception', title: WORDS.since, items: since });
  pdf.callout({ kind: 'caution', title: WORDS.care, items: [enclosure.caution], small: true });
  drawSignatures(pdf, view);
  pdf.heading(2, WORDS.stated);
  pdf.facts(studyRows(input, study), { small: true });
  pdf.heading(2, WORDS.compared);
  if (changes === null) pdf.paragraph(WORDS.first, { small: true });
  else pdf.list(changesTexts(changes), { small: true });
  pdf.heading(2, WORDS.charts, { keepPt: 160 });
  for (const { figure } of [...studyFigures(item, study, input.plan), ...probabilityFigures(input, study)])
    pdf.figure(figure);
  drawTables(pdf, view);
  drawProof(pdf, view);
}

function drawTables(pdf: RecordPage, { statement: { input, study } }: CapabilityView): void {
  const { signals, was, trials, split, changes, listed, coincidences, apart } = studyTables(study);
  pdf.table({
    caption: WORDS.signals,
    columns: [
      { head: WORDS.lots, width: 2.4 },
      { head: WORDS.complete, width: 2.2 },
      { head: WORDS.seen, width: 5 },
      { head: WORDS.came, width: 5 },
    ],
    rows: signals.map(({ lots, points, says, outcomeSays }) => [lots.join(', '), points.at(-1)!, says, outcomeSays]),
    empty: WORDS.noSignals,
  });
  if (was.length > 0) {
    pdf.heading(3, WORDS.was);
    pdf.list(
      was.map(({ points, says, outcome, cause, by }) => WORDS.wasOne(points.at(-1)!, says, outcome, cause, by)),
      { small: true },
    );
  }
  pdf.table({
    caption: WORDS.pooled,
    columns: [
      { head: WORDS.factor, width: 2 },
      { head: WORDS.groups, width: 5 },
      { head: WORDS.found, width: 7 },
    ],
    rows: trials.map(({ factor, groups, says }) => [
      factor,
      groups.map(({ name, builds }) => `${name} (${builds})`).join(', '),
      says,
    ]),
    empty: WORDS.none,
  });
  if (split.length > 0) {
    pdf.heading(3, WORDS.split);
    pdf.list(
      split.map(({ factor, name, n, builds, says }) => WORDS.group(factor, name, n, builds, says)),
      { small: true },
    );
  }
  if (coincidences.length > 0) {
    pdf.heading(3, WORDS.beside);
    pdf.list(
      coincidences.map(({ lot, change, says }) => WORDS.besideOne(lot, change, says)),
      { small: true },
    );
  }
  if (apart.length > 0) {
    pdf.heading(3, WORDS.apart);
    pdf.list(
      apart.map(({ lot, specimen, value, says }) => WORDS.apartOne(lot, specimen, value, says)),
      { small: true },
    );
  }
  if (changes.length > 0) {
    pdf.heading(3, WORDS.changed);
    pdf.list(
      changes.map(({ lot, says }) => WORDS.change(lot, says)),
      { small: true },
    );
  }
  pdf.table({
    caption: WORDS.builds,
    columns: [
      { head: WORDS.closed, width: 2.2 },
      { head: WORDS.lot, width: 2.6 },
      { head: WORDS.build, width: 2.6 },
      { head: WORDS.values, align: 'right', width: 1.2 },
      { head: WORDS.bounds, align: 'right', width: 1.3 },
      { head: WORDS.takenOut, align: 'right', width: 1.5 },
      { head: WORDS.again, align: 'right', width: 1.2 },
      { head: WORDS.mean, unit: tradeUnit(input.characteristic.ucum), align: 'decimal', width: 1.8 },
      { head: WORDS.counts, width: 5 },
    ],
    rows: listed.map(({ builtAt, lot, build, values, bounds, takenOut, again, mean, says, leftOut }) => ({
      cells: [
        ...[timeText(builtAt).slice(0, 10), lot, build, String(values), String(bounds), String(takenOut)],
        String(again),
        ...[mean === null ? WORDS.none : String(Number(mean.toPrecision(6))), says],
      ],
      attention: leftOut !== null,
    })),
    empty: WORDS.none,
  });
}

function drawSignatures(pdf: RecordPage, { enclosure }: CapabilityView): void {
  pdf.table({
    caption: WORDS.signatures,
    columns: [
      { head: WORDS.by, width: 4.4 },
      { head: WORDS.meaning, width: 1.8 },
      { head: WORDS.at, width: 3 },
      { head: WORDS.reason, width: 3.4 },
      { head: WORDS.content, width: 2.6 },
    ],
    rows: enclosure.signatures.map(({ statement }) => [
      signerKeyText(statement),
      signedAsText(statement),
      signedAtText(statement),
      statement.reason ?? WORDS.none,
      [mono(contentText(statement))],
    ]),
    empty: WORDS.nobody,
  });
}

function drawProof(pdf: RecordPage, { statement, enclosure }: CapabilityView): void {
  const { ledger } = statement;
  pdf.heading(2, WORDS.proof);
  pdf.facts(
    [
      [WORDS.statement, [mono(enclosure.statementSha256)]],
      [WORDS.rows, [mono(statement.rowsSha256)]],
      [WORDS.before, statement.previous === null ? WORDS.none : [mono(statement.previous)]],
      [WORDS.trail, [WORDS.trailOf(ledger.size), mono(ledger.root)]],
      [WORDS.program, statement.program],
      [WORDS.printed, WORDS.printedBy(timeText(enclosure.printedAt), enclosure.printedBy, enclosure.program)],
      [WORDS.check, WORDS.how],
    ],
    { small: true },
  );
  pdf.table({
    caption: WORDS.attached,
    columns: [
      { head: WORDS.name, width: 6 },
      { head: WORDS.sha, width: 9 },
    ],
    rows: enclosure.attachments.map(({ name, describes, sha256 }) => [`${name}: ${describes}`, [mono(sha256)]]),
  });
}
