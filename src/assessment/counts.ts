import type { Facts } from '../dossier/facts.js';
import type { Counts } from '../kinds/lot.js';

/** One line of a count that must come out even: what there was, and what became of it. */
export interface CountLine {
  readonly what: string;
  readonly total: number;
  readonly parts: readonly { readonly title: string; readonly count: number }[];
  readonly sum: number;
}

const FATES: readonly (readonly [keyof Counts, string])[] = [
  ['released', 'released'],
  ['rejected', 'rejected'],
  ['destructivelyTested', 'destructively tested'],
  ['retained', 'retained'],
  ['inProgress', 'in progress'],
];

const line = (what: string, total: number, parts: CountLine['parts']): CountLine => ({
  what,
  total,
  parts,
  sum: parts.reduce((sum, { count }) => sum + count, 0),
});

export const implantCount = (counts: Counts): CountLine =>
  line(
    'made',
    counts.made,
    FATES.map(([name, title]) => ({ title, count: counts[name] })),
  );

export const labelCount = ({ printed, used, destroyed }: { printed: number; used: number; destroyed: number }) =>
  line('printed', printed, [
    { title: 'used', count: used },
    { title: 'destroyed', count: destroyed },
  ]);

/** The counts that a lot file gives, for implants and for labels; null where it gives none. */
export function countsOf(facts: Facts): { implants: CountLine | null; labels: CountLine | null } {
  const { counts, labels } = facts.lot.body;
  return { implants: counts ? implantCount(counts) : null, labels: labels ? labelCount(labels) : null };
}

/** `3 made; 1 released, 2 in progress`. */
export const countText = ({ what, total, parts }: CountLine): string =>
  `${total} ${what}; ${parts.map(({ title, count }) => `${count} ${title}`).join(', ')}`;
