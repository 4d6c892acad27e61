import type { Assessment } from '../../assessment/assessment.js';
import { powderReceiptsOfBuild } from '../../assessment/materials.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { short, signatureAnchor } from '../../report/anchors.js';
import { checkTitle, reasonWords } from '../../report/assessment-words.js';
import { exceptionsOf, nothingAgainst } from '../../report/exceptions.js';
import { checkOutcomeText, verdictText } from '../../report/phrases/codes.js';
import { DECISION } from '../../report/phrases/decision.js';
import { COVER } from '../../report/phrases/record-cover.js';
import { contentText, independenceText, signedAtText, signerText } from '../../report/phrases/signatures.js';
import { routeText, sideText } from '../../report/phrases/trade-codes.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { decisionOf, standsOver } from '../signatures.js';

/** Page 1, in the order in which a reader needs it: decisions, signatures, exceptions, identity, cautions, proof. */
export function drawCover(pdf: RecordPage, view: RecordView): void {
  const { facts, enclosure } = view;
  const { cautions } = view.template;
  pdf.title(COVER.title(facts.lot.body.lot), stateText(view));
  drawDecisions(pdf, view);
  drawSignatures(pdf, view);
  pdf.callout({ kind: 'exception', title: COVER.exceptions.title, items: exceptionItems(pdf, view) });
  pdf.heading(2, COVER.identity.heading, { listed: false });
  pdf.facts(whatItIs(view));
  pdf.callout({
    kind: 'caution',
    title: COVER.cautions.title,
    items: [
      cautions.clinical,
      cautions.powder,
      [`${cautions.undecided} `, { text: COVER.cautions.all, to: 'section cautions' }],
    ],
  });
  pdf.heading(2, COVER.proof.heading, { listed: false });
  pdf.facts([
    [COVER.proof.content, [mono(enclosure.dossierSha256)]],
    [COVER.proof.enclosure, [mono(view.enclosureSha256)]],
    [COVER.proof.key, keyText(view)],
    [COVER.proof.printed, printedText(enclosure)],
  ]);
  pdf.paragraph(COVER.proof.how(cautions.unaltered, sealText(view), enclosure.template.revision), { small: true });
}

function stateText({ enclosure }: RecordView): Text {
  const { record, demo, supersedes, forCase } = enclosure;
  const words = COVER.state;
  return [
    words.record(record.number, record.revision),
    { text: record.draft ? words.draft : words.final, style: 'bold' },
    supersedes ? words.supersedes(supersedes.revision) : '',
    ...(supersedes ? [{ text: words.whatChanged, to: 'changes' }, '.'] : []),
    forCase === null ? '' : words.copyFor(forCase),
    demo ? words.demo : '',
  ];
}

function drawDecisions(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const units = shownUnits(view);
  const words = COVER.decisions;
  pdf.heading(2, words.heading, { listed: false });
  const open = units.filter((unit) => !decisionOf(view, unit.serial));
  pdf.paragraph(
    words.lead(
      verdictCounts(units.map((unit) => unit.verdict)),
      open.map(({ serial }) => serial),
    ),
  );
  pdf.table({
    caption: words.caption,
    columns: [
      { head: words.heads.serial, width: 1.9 },
      { head: words.heads.caseAndSide, width: 2.4 },
      { head: words.heads.decision, width: 3.2 },
      { head: words.heads.proposed, width: 2.5 },
      { head: words.heads.reason, width: 5.4 },
    ],
    rows: units.map((unit) => {
      const implant = facts.lot.body.implants.find((item) => item.serial === unit.serial)!;
      return {
        cells: [
          unit.serial,
          `${implant.case}, ${sideOf(facts, implant.case)}`,
          decisionText(view, unit.serial),
          verdictText(unit.verdict),
          reasonText(view, unit),
        ],
        attention: unit.verdict !== 'conforms',
      };
    }),
  });
}

/** Briefly: a value by what it is, a check by its title. The release checks tell all of it. */
function sideOf({ cases }: Facts, code: string): string {
  const found = cases.get(code);
  return found ? sideText(found.body.side) : COVER.decisions.withheld;
}

function reasonText({ assessment }: RecordView, unit: Assessment['units'][number]): Text {
  const [first, ...more] = unit.why;
  if (!first) return nothingAgainst(assessment, unit);
  const check = assessment.checks.find(({ code }) => code === first.check);
  return [
    check
      ? `${checkTitle(check.code)}: ${checkOutcomeText(check.outcome)}`
      : reasonWords(assessment.checks)(first).says.replace(/\.$/, ''),
    COVER.decisions.more(more.length),
    { text: COVER.decisions.toChecks, to: 'section release' },
  ];
}

function decisionText(view: RecordView, serial: string): Text {
  const signed = decisionOf(view, serial);
  const over = standsOver(view, serial).map((code) => DECISION[code]);
  if (!signed) return [DECISION.open, ...over].join('; ');
  const { meaning, person } = signed.statement;
  return [
    ...(over.length > 0 ? [{ text: `${over.join('; ')}; `, style: 'bold' as const }] : []),
    { text: DECISION.by(meaning, person.name), to: signatureAnchor(signed.digest) },
  ];
}

/** Statements on the lot itself; those on documents, certificates and sheets stand on the signature page. */
function drawSignatures(pdf: RecordPage, view: RecordView): void {
  const words = COVER.signatures;
  pdf.heading(2, words.heading, { listed: false });
  const { signatures } = view.enclosure;
  const isTold = tellsOf(view);
  if (signatures.length === 0) {
    pdf.paragraph(words.none);
    return;
  }
  pdf.table({
    caption: words.caption,
    columns: [
      { head: words.heads.by, width: 4.2 },
      { head: words.heads.meaning, width: 1.5 },
      { head: words.heads.implants, width: 2.5 },
      { head: words.heads.at, width: 3.1 },
      { head: words.heads.independence, width: 3 },
      { head: words.heads.content, width: 2.3 },
    ],
    rows: signatures.map(({ statement, digest }) => [
      signerText(statement),
      statement.meaning,
      statement.units.filter(isTold).join(', ') || words.wholeLot,
      signedAtText(statement),
      independenceText(view, statement),
      [{ text: contentText(statement), style: 'mono' as const, to: signatureAnchor(digest) }],
    ]),
  });
}

function whatItIs({ facts }: RecordView): [string, Text][] {
  const { lot, family, specification } = facts;
  const heats = lot.body.builds
    .flatMap((build) => powderReceiptsOfBuild(facts, build.build))
    .flatMap((code) => facts.receipts.get(code)!.body.heats);
  const iterations = lot.body.implants.map((implant) => String(implant.designIteration));
  const once = (items: readonly string[]) => [...new Set(items)].sort().join(', ');
  const words = COVER.identity;
  const { specification: code } = specification.body;
  return [
    [
      words.family,
      words.familyOf(family.body.title, family.body.family, family.revision, routeText(family.body.route)),
    ],
    [words.alloy, words.alloyOf(family.body.alloy, once(heats))],
    [
      words.madeBy,
      words.madeByOf([...facts.recipes.keys()].join('; '), code, specification.revision, once(iterations)),
    ],
    [words.sterile, words.sterileOf[family.body.sterile]],
  ];
}

const mono = (text: string) => ({ text, style: 'mono' as const });

function keyText({ enclosure }: RecordView): Text {
  const [inUse, ...former] = enclosure.keys;
  return inUse ? [mono(inUse.fingerprint), COVER.proof.formerKeys(former.length)] : COVER.proof.noKey;
}

function sealText({ enclosure }: RecordView): string {
  if (enclosure.seal === null) return COVER.proof.noSeal;
  return COVER.proof.sealed(short(enclosure.seal.certificateSha256));
}

const printedText = ({ printedAt, printedOffset, printedBy, program, node }: RecordView['enclosure']): string =>
  COVER.proof.printedAt(timeText(printedAt), printedOffset, printedBy, program, node);

/** What is there with its count and page; what is not, in one line; what this version cannot know, outright. */
function exceptionItems(pdf: RecordPage, view: RecordView): Text[] {
  const words = COVER.exceptions;
  const counted = exceptionsOf(view);
  const found = counted.filter(({ count }) => count > 0);
  const none = counted.filter(({ count }) => count === 0).map(({ what }) => what);
  return [
    ...found.map(
      ({ what, count, anchor }): Text => [
        words.counted(what, count),
        { text: words.page(pdf.pageOf(anchor)), to: anchor },
      ],
    ),
    ...(none.length > 0 ? [words.none(none)] : []),
    words.notKnown,
  ];
}
