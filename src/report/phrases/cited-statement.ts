import { timeText } from '../../dossier/time-text.js';
import type { CitedStatement } from '../cited-statement.js';
import { ableText } from './able.js';

/** Words of what a record cites of the family. */
export const CITED = {
  caption: 'What was stated of the family, and reviewed, before this lot was built',
  characteristic: 'Characteristic',
  statement: 'Statement',
  says: 'What it says',
  own: 'Points of this lot against its baseline',
  none: (titles: readonly string[]) =>
    `No statement of capability was reviewed before this lot was built for: ${titles.join(', ')}.`,
  statementOf: ({ number, window, index, review }: CitedStatement) =>
    `Statement ${number}, ${index.n} values of ${index.builds} builds closed ${window.from} to ${window.to}; reviewed by ${review.name} (${review.by}), ${timeText(review.at)}; SHA-256 `,
  saysOf: ({ index }: CitedStatement) => ableText(index),
  ownOf: (own: { readonly points: number; readonly within: number } | undefined) =>
    own === undefined
      ? 'not compared: they are no points of its chart'
      : own.points === 0
        ? 'none'
        : `${own.within} of ${own.points} within its limits`,
} as const;
