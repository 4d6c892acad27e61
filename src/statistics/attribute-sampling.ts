import { CalculationError } from '../base/errors.js';
import { fQuantile } from './distributions.js';

/*
 * Single sampling plans for attributes of MIL-STD-105E (1989, public domain; ISO 2859-1 succeeds it).
 * The master tables are built on a diagonal: one column to the right is one row up. So each table is one sequence of
 * cells along the diagonal, plus the few cells that leave it.
 * Confirmed against: table I and table II-A, AQL 0.65 to 15, letters B to Q (reference catalogue), and the printed
 * rows of II-A for all AQLs; table II-B, AQL 0.65 to 15 (sheets of the National Institute of Building Sciences made from
 * MIL-STD-105E); table II-C, the whole column AQL 2.5 (as in NBR 5426) and Montgomery's example K at 0.65 (50, 1, 3).
 * What none of them confirms is refused.
 */

export type InspectionLevel = 'I' | 'II' | 'III' | 'S-1' | 'S-2' | 'S-3' | 'S-4';
export type Severity = 'normal' | 'tightened' | 'reduced';

export interface SamplingPlan {
  /** Code letter of lot size and level. */
  readonly letter: string;
  /** Code letter of the plan, after following arrows. */
  readonly letterUsed: string;
  /** Sample size of that plan in the table. */
  readonly tableSampleSize: number;
  /** Items to inspect: the table's sample size, or the whole lot where that is not larger. */
  readonly n: number;
  readonly accept: number;
  readonly reject: number;
}

export const INSPECTION_LEVELS: readonly InspectionLevel[] = ['I', 'II', 'III', 'S-1', 'S-2', 'S-3', 'S-4'];

/** Acceptable quality levels that head the columns: per cent nonconforming, or nonconformities per hundred items. */
export const AQL_COLUMNS: readonly number[] = [
  0.01, 0.015, 0.025, 0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10, 15, 25, 40, 65, 100, 150, 250,
  400, 650, 1000,
];

const LETTERS = 'ABCDEFGHJKLMNPQRS';

/** Upper ends of the lot size ranges of table I; larger lots fall into the last range. */
export const LOT_SIZE_ENDS = [8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000];

/** Table I: per level, the letters of the lot size ranges in order. */
export const CODE_LETTERS: Readonly<Record<InspectionLevel, string>> = {
  'S-1': 'AAAABBBBCCCCDDD',
  'S-2': 'AAABBBCCCDDDEEE',
  'S-3': 'AABBCCDDEEFFGGH',
  'S-4': 'AABCCDEEFGGHJJK',
  I: 'AABCCDEFGHJKLMN',
  II: 'ABCDEFGHJKLMNPQ',
  III: 'BCDEFGHJKLMNPQR',
};

/** Row of letter E, the last one whose cells go on beyond accept 21 (normal) or 18 (tightened). */
const LAST_LONG_ROW = 4;
/** Place of accept 21 on the diagonal of the normal table; the tightened and reduced ones end before it. */
const LAST_COMMON_PLACE = 10;

/** A cell of a master table. */
type Cell = 'up' | 'down' | readonly [accept: number, reject: number];

interface MasterTable {
  readonly sampleSizes: readonly number[];
  /** Row number + column number of the cells that hold accept 0. */
  readonly zeroDiagonal: number;
  /** The cells from accept 0 on, along the rows. */
  readonly cells: readonly Cell[];
  /** Last letter of the table. */
  readonly lastLetter: string;
}

const NORMAL_SIZES = [2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150];
const REDUCED_SIZES = [2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800];

const TABLES: Readonly<Record<Severity, MasterTable>> = {
  normal: {
    sampleSizes: NORMAL_SIZES,
    zeroDiagonal: 14,
    cells: [[0, 1], 'up', 'down', ...[1, 2, 3, 5, 7, 10, 14, 21, 30, 44].map(plain)],
    lastLetter: 'R',
  },
  tightened: {
    sampleSizes: NORMAL_SIZES,
    zeroDiagonal: 15,
    cells: [[0, 1], 'down', 'down', ...[1, 2, 3, 5, 8, 12, 18].map(plain)],
    lastLetter: 'S',
  },
  reduced: {
    sampleSizes: REDUCED_SIZES,
    zeroDiagonal: 14,
    cells: [[0, 1], 'up', 'down', [0, 2], [1, 3], [1, 4], [2, 5], [3, 6], [5, 8], [7, 10], [10, 13]],
    lastLetter: 'R',
  },
};

function plain(accept: number): Cell {
  return [accept, accept + 1];
}

/**
 * The single sampling plan for a lot. Following an arrow moves sample size and acceptance number together.
 * @throws CalculationError with field `aql` for a value that heads no column, or a plan whose table values no source
 * confirms.
 */
export function samplingPlan(lotSize: number, level: InspectionLevel, aql: number, severity: Severity): SamplingPlan {
  const column = AQL_COLUMNS.indexOf(aql);
  if (column < 0) {
    throw new CalculationError('aql', `${aql} heads no column of the tables; they have ${AQL_COLUMNS.join(', ')}`);
  }
  const letter = codeLetter(lotSize, level);
  let row = LETTERS.indexOf(letter);
  let cell = cellAt(severity, row, column);
  while (typeof cell === 'string') {
    row += cell === 'up' ? -1 : 1;
    cell = cellAt(severity, row, column);
  }
  const tableSampleSize = TABLES[severity].sampleSizes[row]!;
  const n = Math.min(tableSampleSize, lotSize);
  return { letter, letterUsed: LETTERS[row]!, tableSampleSize, n, accept: cell[0], reject: cell[1] };
}

/** Table I: the code letter of a lot size at an inspection level, lots of two items or more. */
export function codeLetter(lotSize: number, level: InspectionLevel): string {
  const range = LOT_SIZE_ENDS.findIndex((end) => lotSize <= end);
  return CODE_LETTERS[level][range < 0 ? LOT_SIZE_ENDS.length : range]!;
}

/** The cell of a master table by row (code letter) and column (AQL), both counted from 0. */
function cellAt(severity: Severity, row: number, column: number): Cell {
  const { zeroDiagonal, cells, lastLetter } = TABLES[severity];
  const place = row + column - zeroDiagonal;
  refuseUnconfirmed(severity, row, column, place);
  if (place < 0) return 'down';
  // Letter A has no plan with accept 0 under tightened inspection.
  if (severity === 'tightened' && row === 0 && place === 0) return 'down';
  // Only letters A to E go beyond accept 21.
  const cell = row > LAST_LONG_ROW && place > LAST_COMMON_PLACE ? 'up' : (cells[place] ?? 'up');
  // Below the last row there is nothing to go down to.
  return cell === 'down' && LETTERS[row] === lastLetter ? 'up' : cell;
}

function refuseUnconfirmed(severity: Severity, row: number, column: number, place: number): void {
  const aql = AQL_COLUMNS[column]!;
  const letter = LETTERS[row]!;
  const unconfirmed =
    (severity === 'reduced' && aql > 6.5) ||
    (severity === 'tightened' && row <= LAST_LONG_ROW && place >= TABLES.tightened.cells.length) ||
    (severity === 'tightened' && letter === 'R' && place === 1) ||
    (severity === 'normal' && letter === 'A' && place === 1);
  if (!unconfirmed) return;
  throw new CalculationError(
    'aql',
    `no source at hand confirms the table value for ${severity} inspection, letter ${letter}, AQL ${aql}: ` +
      'look it up in the standard',
  );
}

/**
 * Exact one-sided lower confidence bound of a share of which `found` of n show what is asked: the p with
 * P(at least `found` of n | p) = 1 − confidence. Source: Clopper and Pearson, Biometrika 26 (1934), by the F distribution.
 */
export function shareLowerBound(found: number, n: number, confidence: number): number {
  if (found === 0) return 0;
  const f = fQuantile(confidence, 2 * (n - found + 1), 2 * found);
  return found / (found + (n - found + 1) * f);
}
