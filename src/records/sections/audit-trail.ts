import { timeText } from '../../dossier/time-text.js';
import { LedgerEntry } from '../../ledger/entry.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { sectionAnchor, short } from '../../report/anchors.js';
import { AUDIT_TRAIL } from '../../report/phrases/record-audit-trail.js';
import { recordChangeText } from '../../report/phrases/record-changes.js';
import type { WitnessedHead } from '../enclosure.js';
import { type RecordView } from '../record-view.js';
import { signaturesOf } from '../signatures.js';
import { drawCorrections } from './corrections.js';

/** What was entered when and by whom, what it replaced, and how to prove that nothing was taken out since. */
export function drawAuditTrail(pdf: RecordPage, view: RecordView): void {
  const { facts, enclosure } = view;
  const { ledger } = enclosure;
  const shown = new Set(signaturesOf(view).map(({ digest }) => digest));
  const onSignaturePage = new Set(
    [...entriesOfStatements(enclosure)].flatMap(([digest, seq]) => (shown.has(digest) ? [seq] : [])),
  );
  pdf.facts(
    [
      [AUDIT_TRAIL.lotFileAsOf, AUDIT_TRAIL.asOf(facts.dossier.asOf.ledgerEntry, timeText(facts.dossier.asOf.at))],
      [AUDIT_TRAIL.auditTrailWhenPrinted, [AUDIT_TRAIL.sizeAndRoot(ledger.size), { text: ledger.root, style: 'mono' }]],
      [AUDIT_TRAIL.signedHead, headText(ledger.checkpoint)],
      ...witnessedFacts(ledger.witnessed),
    ],
    { small: true },
  );
  pdf.table({
    caption: AUDIT_TRAIL.entries,
    columns: [
      { head: AUDIT_TRAIL.entry, width: 0.9, align: 'right' },
      { head: AUDIT_TRAIL.when, width: 2.3 },
      { head: AUDIT_TRAIL.by, width: 1.4 },
      { head: AUDIT_TRAIL.what, width: 8.6 },
    ],
    rows: ledger.proofs.filter(({ seq }) => !onSignaturePage.has(seq)).map(({ seq, entry }) => entryCells(seq, entry)),
    empty: AUDIT_TRAIL.noProof,
  });
  if (onSignaturePage.size > 0) {
    pdf.paragraph(
      [
        AUDIT_TRAIL.statementsAt(onSignaturePage.size),
        { text: AUDIT_TRAIL.signaturePage, to: sectionAnchor('signature-page') },
        '.',
      ],
      { small: true },
    );
  }
  pdf.table({
    caption: AUDIT_TRAIL.earlier,
    columns: [
      { head: AUDIT_TRAIL.record, width: 3 },
      { head: AUDIT_TRAIL.revision, width: 1.2, align: 'right' },
      { head: AUDIT_TRAIL.entriesThen, width: 1.6, align: 'right' },
      { head: AUDIT_TRAIL.rootThen, width: 7 },
    ],
    rows: enclosure.earlier.map((item) => [
      item.number,
      String(item.revision),
      String(item.size),
      [{ text: item.root, style: 'mono' as const }],
    ]),
    empty: AUDIT_TRAIL.none,
  });
  pdf.heading(2, AUDIT_TRAIL.changes, { anchor: 'changes' });
  if (enclosure.supersedes) {
    const { number, revision, enclosureSha256 } = enclosure.supersedes;
    pdf.paragraph([AUDIT_TRAIL.supersedes(number, revision), { text: short(enclosureSha256), style: 'mono' }, '.']);
    pdf.list(enclosure.changes.length > 0 ? enclosure.changes.map(recordChangeText) : [AUDIT_TRAIL.noFactChanged]);
  } else pdf.paragraph(AUDIT_TRAIL.first);
  drawCorrections(pdf, view);
}

/** Numbers of the entries under which signed statements stand, by the digest of the statement. */
export function entriesOfStatements({ ledger }: RecordView['enclosure']): ReadonlyMap<string, number> {
  const found = ledger.proofs.flatMap(({ seq, entry }): [string, number][] => {
    const parsed = LedgerEntry.safeParse(JSON.parse(entry));
    return parsed.success && parsed.data.type === 'statement-signed' ? [[parsed.data.digest, seq]] : [];
  });
  return new Map(found);
}

function witnessedFacts(witnessed: WitnessedHead | undefined): [string, Text][] {
  if (witnessed === undefined) return [];
  const { by, at, size, root, token } = witnessed;
  const says = (token === null ? AUDIT_TRAIL.left : AUDIT_TRAIL.stamped)(by, timeText(at), size);
  return [[AUDIT_TRAIL.witnessed, [says, { text: root, style: 'mono' }]]];
}

function headText(checkpoint: string | null): Text {
  return checkpoint === null ? AUDIT_TRAIL.noHead : [{ text: checkpoint.trim(), style: 'mono' }];
}

/** An entry of a later version than this one is printed as it stands. */
function entryCells(seq: number, text: string): Text[] {
  const parsed = LedgerEntry.safeParse(JSON.parse(text));
  if (!parsed.success) return [String(seq), '', '', text];
  const { at, actor, type, ...rest } = parsed.data;
  return [String(seq), timeText(at), actor, `${type.replaceAll('-', ' ')}: ${detailsOf(rest)}`];
}

function detailsOf(rest: object): string {
  return Object.entries(rest)
    .filter(([name]) => !['version', 'seq', 'offset', 'demo', 'tables'].includes(name))
    .map(([name, value]) => `${name} ${detailText(value)}`)
    .join(', ');
}

function detailText(value: unknown): string {
  if (typeof value === 'string') return /^[0-9a-f]{64}$/.test(value) ? short(value) : value;
  if (typeof value !== 'object' || value === null) return String(value);
  return Object.values(value).map(detailText).join(' ');
}
