import type { Facts } from '../dossier/facts.js';
import type { Counts } from '../kinds/lot.js';

/** One line of a count that must come out even: what there was, and what became of it. */
export interface CountLine {
  readonly what: string;
  readonly total: number;
  readonly parts: readonly { readonly title: string; readonly count: number }[];
  readonly sum: number;
}

/** How many implants of a lot are released and rejected as it stands, by what people signed. */
export interface DecidedCount {
  readonly released: number;
  readonly rejected: number;
}

const line = (what: string, total: number, parts: CountLine['parts']): CountLine => ({
  what,
  total,
  parts,
  sum: parts.reduce((sum, { count }) => sum + count, 0),
});

const keptBack = ({ destructivelyTested, retained }: Counts): CountLine['parts'] => [
  { title: 'destructively tested', count: destructivelyTested },
  { title: 'retained', count: retained },
];

/** The implants as they were counted, which no decision changes. */
export const implantCount = (counts: Counts): CountLine =>
  line('made', counts.made, [...keptBack(counts), { title: 'to be released or rejected', count: counts.toDecide }]);

/** What became of the implants. It does not add up when more of them are decided on than were there to decide on. */
export const implantFates = (counts: Counts, { released, rejected }: DecidedCount): CountLine =>
  line('made', counts.made, [
    { title: 'released', count: released },
    { title: 'rejected', count: rejected },
    { title: 'in progress', count: Math.max(0, counts.toDecide - released - rejected) },
    ...keptBack(counts),
  ]);

export const labelCount = ({ printed, used, destroyed }: { printed: number; used: number; destroyed: number }) =>
  line('printed', printed, [
    { title: 'used', count: used },
    { title: 'destroyed', count: destroyed },
  ]);

/** What became of implants and of labels; null for what the lot file does not count. */
export function countsOf(
  facts: Facts,
  decided: DecidedCount,
): { implants: CountLine | null; labels: CountLine | null } {
  const { counts, labels } = facts.lot.body;
  return { implants: counts ? implantFates(counts, decided) : null, labels: labels ? labelCount(labels) : null };
}
