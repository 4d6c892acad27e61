import type { LotLine } from './lot-line.js';

/** Lots that somebody has to freeze and assess before anybody can go on with them. */
export const lotsToAssess = (lines: readonly LotLine[]): LotLine[] =>
  lines.filter(({ assessed, outOfDate, ofEarlierVersion }) => !assessed || outOfDate || ofEarlierVersion);
