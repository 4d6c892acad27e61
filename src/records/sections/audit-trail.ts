import { timeText } from '../../dossier/time-text.js';
import { LedgerEntry } from '../../ledger/entry.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { short } from '../../report/anchors.js';
import { recordChangeText } from '../../report/phrases/record-changes.js';
import { type RecordView } from '../record-view.js';
import { drawCorrections } from './results.js';

/** What was entered when and by whom, what it replaced, and how to prove that nothing was taken out since. */
export function drawAuditTrail(pdf: RecordPage, view: RecordView): void {
  const { facts, enclosure } = view;
  const { ledger } = enclosure;
  pdf.facts([
    ['Lot file as of', `entry ${facts.dossier.asOf.ledgerEntry}, ${timeText(facts.dossier.asOf.at)}`],
    ['Audit trail when printed', [`${ledger.size} entries, root `, { text: ledger.root, style: 'mono' }]],
    ['Signed head', headText(ledger.checkpoint)],
  ]);
  pdf.table({
    caption: 'Entries that this record rests on, each with its proof in enclosure.json',
    columns: [
      { head: 'Entry', width: 1.1, align: 'right' },
      { head: 'When', width: 2.4 },
      { head: 'By', width: 2 },
      { head: 'What', width: 7 },
    ],
    rows: ledger.proofs.map((proof) => entryCells(proof.seq, proof.entry)),
    empty: 'No proof is carried.',
  });
  pdf.table({
    caption: 'Earlier records of this lot: each stands in an audit trail that only grew since',
    columns: [
      { head: 'Record', width: 3 },
      { head: 'Revision', width: 1.2, align: 'right' },
      { head: 'Entries then', width: 1.6, align: 'right' },
      { head: 'Root then', width: 7 },
    ],
    rows: enclosure.earlier.map((item) => [
      item.number,
      String(item.revision),
      String(item.size),
      [{ text: item.root, style: 'mono' as const }],
    ]),
    empty: 'None.',
  });
  pdf.heading(2, 'What this revision changes', { anchor: 'changes' });
  if (enclosure.supersedes) {
    const { number, revision, enclosureSha256 } = enclosure.supersedes;
    pdf.paragraph([
      `It supersedes ${number} revision ${revision}, enclosure `,
      { text: short(enclosureSha256), style: 'mono' },
      '.',
    ]);
    pdf.list(enclosure.changes.length > 0 ? enclosure.changes.map(recordChangeText) : ['No fact changed.']);
  } else pdf.paragraph('It is the first of its number.');
  drawCorrections(pdf, facts);
}

function headText(checkpoint: string | null): Text {
  return checkpoint === null ? 'none: this copy carries no signed head' : [{ text: checkpoint.trim(), style: 'mono' }];
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
    .filter(([name]) => !['version', 'seq', 'offset', 'demo'].includes(name))
    .map(([name, value]) => `${name} ${detailText(value)}`)
    .join(', ');
}

function detailText(value: unknown): string {
  if (typeof value === 'string') return /^[0-9a-f]{64}$/.test(value) ? short(value) : value;
  if (typeof value !== 'object' || value === null) return String(value);
  return Object.values(value).map(detailText).join(' ');
}
