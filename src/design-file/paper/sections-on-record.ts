import { baselinesOf } from '../../design-history/baselines.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { short } from '../../report/anchors.js';
import { BASELINE_LINES } from '../../report/phrases/baselines.js';
import { CLAUSES, type ClauseRow } from '../../report/phrases/design-clauses.js';
import { DESIGN_PAPER as WORDS } from '../../report/phrases/design-paper.js';
import { entryText } from '../../report/phrases/kinds.js';
import { signedAsText } from '../../report/phrases/release-steps.js';
import { signedAtText, signerKeyText } from '../../report/phrases/signatures.js';
import { joined, mono, sectionAnchorOf } from './draw-documents.js';
import type { DesignPaperView } from './view.js';

/** What the file of a design says of itself and of the record that it stands on, beside the documents. */

/** How many documents answer a clause; nothing where their number would tell nothing. */
export const clauseDocuments = ({ kinds }: Pick<ClauseRow, 'kinds'>, design: DesignIndex): string =>
  kinds.length === 0 ? '' : String(kinds.reduce((sum, kind) => sum + design.current(kind).length, 0));

export function drawClauses(pdf: RecordPage, { design, template }: DesignPaperView): void {
  const titles = new Map(template.sections.map(({ section, title }) => [section, title]));
  pdf.table({
    caption: WORDS.clauses,
    columns: [
      { head: WORDS.clause, width: 3.6 },
      { head: WORDS.asks, width: 6 },
      { head: WORDS.answeredIn, width: 5 },
      { head: WORDS.documents, width: 1.8, align: 'right' },
    ],
    rows: CLAUSES.map((row) => [
      WORDS.clauseOf(row),
      row.asks,
      joined(
        row.sections.map((section) => [
          `${titles.get(section)}, `,
          { text: WORDS.page(pdf.pageOf(sectionAnchorOf(section))), to: sectionAnchorOf(section) },
        ]),
      ),
      clauseDocuments(row, design),
    ]),
  });
}

export function drawBaselines(pdf: RecordPage, { design }: DesignPaperView): void {
  const baselines = baselinesOf(design);
  if (baselines.length === 0) pdf.paragraph(WORDS.noneSentence, { small: true });
  pdf.list(
    baselines.map(({ body, approvedBy, approvedAt, digest }) => [
      BASELINE_LINES.line({
        ...{ name: body.name, entries: body.asOf.entries, members: body.members.length },
        ...{ approvedBy, approvedAt, isSame: false },
      }),
      ', ',
      mono(short(digest)),
    ]),
    { small: true },
  );
}

export function drawLots(pdf: RecordPage, { content }: DesignPaperView): void {
  pdf.table({
    caption: WORDS.lots,
    columns: [
      { head: WORDS.lot, width: 2.6 },
      { head: WORDS.built, width: 2 },
      { head: WORDS.implants, width: 1.4, align: 'right' },
      { head: WORDS.baseline, width: 2.6 },
      { head: WORDS.stateHead, width: 4.6 },
      { head: WORDS.lotFile, width: 2.2 },
    ],
    rows: content.made.map(({ lot, builtAt, implants, baseline, state, lotFileSha256 }) => [
      ...[lot, builtAt?.slice(0, 10) ?? BASELINE_LINES.notBuilt, String(implants)],
      ...[baseline ?? WORDS.none, state],
      lotFileSha256 === null ? WORDS.none : [mono(short(lotFileSha256))],
    ]),
    empty: WORDS.noneSentence,
  });
}

export function drawAttachments(pdf: RecordPage, { enclosure, content }: DesignPaperView): void {
  pdf.table({
    caption: WORDS.carried,
    columns: [
      { head: WORDS.name, width: 6 },
      { head: WORDS.sha, width: 9 },
    ],
    rows: enclosure.attachments.map(({ name, describes, sha256 }) => [`${name}: ${describes}`, [mono(sha256)]]),
  });
  pdf.table({
    caption: WORDS.evidence,
    columns: [
      { head: WORDS.of, width: 4 },
      { head: WORDS.file, width: 4 },
      { head: WORDS.whereCarried, width: 3.4 },
      { head: WORDS.sha, width: 9 },
    ],
    rows: content.evidence.map(({ kind, key, revision, name, sha256, fileName, bytes, carriedAs, why }) => [
      entryText(kind, key, revision),
      WORDS.fileOf(name, fileName, bytes),
      carriedAs ?? WORDS.notCarried[why ?? 'too large'],
      [mono(sha256)],
    ]),
    empty: WORDS.noneSentence,
  });
  if (content.evidence.length > 0) pdf.paragraph(WORDS.evidenceProof, { small: true });
}

export function drawSignatures(pdf: RecordPage, { enclosure }: DesignPaperView): void {
  pdf.table({
    caption: WORDS.signatures,
    columns: [
      { head: WORDS.signed, width: 4.6 },
      { head: WORDS.who, width: 4.6 },
      { head: WORDS.meaning, width: 2 },
      { head: WORDS.at, width: 3 },
    ],
    rows: enclosure.signatures.map(({ statement }) => [
      statement.subjects.map(({ kind, key, revision }) => entryText(kind, key, revision)).join('; '),
      signerKeyText(statement),
      signedAsText(statement),
      signedAtText(statement),
    ]),
    empty: WORDS.nobodySigned,
  });
}

export function drawProof(pdf: RecordPage, { enclosure, content }: DesignPaperView): void {
  pdf.facts(
    [
      [WORDS.design, [mono(enclosure.designSha256)]],
      [WORDS.asOf, [WORDS.head(content.asOf.day, content.asOf.entries), mono(content.asOf.root)]],
      [WORDS.trail, [WORDS.entries(enclosure.ledger.size), mono(enclosure.ledger.root)]],
      [WORDS.printed, WORDS.printedBy(timeText(enclosure.printedAt), enclosure.printedBy, enclosure.program)],
      [WORDS.check, WORDS.how],
    ],
    { small: true },
  );
}
