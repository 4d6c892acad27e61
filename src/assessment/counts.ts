import type { Facts } from '../dossier/facts.js';
import type { Counts } from '../kinds/lot.js';

/** What became of implants, and of labels. */
export type Fate =
  | 'destructively tested'
  | 'retained'
  | 'to decide'
  | 'released'
  | 'rejected'
  | 'in progress'
  | 'used'
  | 'destroyed';

/** One line of a count that must come out even: what there was, and what became of it. */
export interface CountLine {
  readonly what: 'made' | 'printed';
  readonly total: number;
  readonly parts: readonly { readonly fate: Fate; readonly count: number }[];
  readonly sum: number;
}

/** How many implants of a lot are released and rejected as it stands, by what people signed. */
export interface DecidedCount {
  readonly released: number;
  readonly rejected: number;
}

const line = (what: CountLine['what'], total: number, parts: CountLine['parts']): CountLine => ({
  what,
  total,
  parts,
  sum: parts.reduce((sum, { count }) => sum + count, 0),
});

const keptBack = ({ destructivelyTested, retained }: Counts): CountLine['parts'] => [
  { fate: 'destructively tested', count: destructivelyTested },
  { fate: 'retained', count: retained },
];

/** The implants as they were counted, which no decision changes. */
export const implantCount = (counts: Counts): CountLine =>
  line('made', counts.made, [...keptBack(counts), { fate: 'to decide', count: counts.toDecide }]);

/** What became of the implants. It does not add up when more of them are decided on than were there to decide on. */
export const implantFates = (counts: Counts, { released, rejected }: DecidedCount): CountLine =>
  line('made', counts.made, [
    { fate: 'released', count: released },
    { fate: 'rejected', count: rejected },
    { fate: 'in progress', count: Math.max(0, counts.toDecide - released - rejected) },
    ...keptBack(counts),
  ]);

export const labelCount = ({ printed, used, destroyed }: { printed: number; used: number; destroyed: number }) =>
  line('printed', printed, [
    { fate: 'used', count: used },
    { fate: 'destroyed', count: destroyed },
  ]);

/** What became of implants and of labels; null for what the lot file does not count. */
export function countsOf(
  facts: Facts,
  decided: DecidedCount,
): { implants: CountLine | null; labels: CountLine | null } {
  const { counts, labels } = facts.lot.body;
  return { implants: counts ? implantFates(counts, decided) : null, labels: labels ? labelCount(labels) : null };
}
