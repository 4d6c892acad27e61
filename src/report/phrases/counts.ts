import type { CountLine, Fate } from '../../assessment/counts.js';
import type { Gone } from '../../kinds/lot-after-build.js';

/** What there was, and what became of it. */
export const COUNTED: Readonly<Record<CountLine['what'] | Fate, string>> = {
  made: 'made',
  printed: 'printed',
  'destructively tested': 'destructively tested',
  retained: 'retained',
  scrapped: 'scrapped',
  'kept as stock part': 'kept as stock part',
  moved: 'moved to another lot',
  'to decide': 'to be released or rejected',
  'released for sterilisation': 'released for sterilisation',
  'released for distribution': 'released for distribution',
  rejected: 'rejected',
  'in progress': 'in progress',
  used: 'used',
  destroyed: 'destroyed',
};

/** What became of a part that nobody can release any more. */
export const PART_FATES: Readonly<Record<Gone['as'], string>> = {
  tested: COUNTED['destructively tested'],
  retained: COUNTED.retained,
  scrapped: COUNTED.scrapped,
  'stock part': COUNTED['kept as stock part'],
  moved: COUNTED.moved,
};

/** A line of a count with its words, for pages. */
export const countInWords = ({ what, total, sum, parts }: CountLine) => ({
  what: COUNTED[what],
  total,
  sum,
  parts: parts.map(({ fate, count }) => ({ title: COUNTED[fate], count })),
});

/** `3 made; 1 released, 2 in progress`. */
export const countText = ({ what, total, parts }: CountLine): string =>
  `${total} ${COUNTED[what]}; ${parts.map(({ fate, count }) => `${count} ${COUNTED[fate]}`).join(', ')}`;
