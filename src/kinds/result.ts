import { z } from 'zod';
import type { DeclaredKind } from './kind.js';

/**
 * The values of one characteristic on one specimen or piece as they stand: what a trace meets between an instrument and
 * an implant. A sheet is no such thing, since it may hold values of many instruments on many specimens.
 */
export const Result = z.strictObject({
  lot: z.string(),
  specimen: z.string(),
  piece: z.string().describe('empty where the specimen was not cut up'),
  characteristic: z.string(),
  values: z.int().positive().describe('how many'),
  digest: z.string().describe('of the values with their sheets and lines, as canonical JSON'),
});
export type Result = z.infer<typeof Result>;

/** Columns of a result sheet, in the order in which sheets are written. All must be there but those that may. */
const COLUMNS = [
  ...(['specimen', 'piece', 'characteristic', 'replicate', 'value', 'ucum', 'standardUncertainty'] as const),
  ...(['startedAt', 'measuredAt', 'instrument', 'analyst', 'method', 'methodRevision'] as const),
  ...(['enteredBy', 'checkedBy', 'reason'] as const),
] as const;
const MAY_MISS = ['piece', 'standardUncertainty', 'startedAt', 'enteredBy', 'checkedBy', 'reason'] as const;

export type ResultColumn = (typeof COLUMNS)[number];
type Optional = (typeof MAY_MISS)[number];

const mayMiss = (name: ResultColumn): name is Optional => (MAY_MISS as readonly string[]).includes(name);

export const RESULT_COLUMNS = {
  all: COLUMNS,
  required: COLUMNS.filter((name): name is Exclude<ResultColumn, Optional> => !mayMiss(name)),
  optional: MAY_MISS,
};

/** `L-1:W1/A:rm`. */
export const resultKey = ({ lot, specimen, piece, characteristic }: Omit<Result, 'values' | 'digest'>): string =>
  `${lot}:${specimen}${piece === '' ? '' : `/${piece}`}:${characteristic}`;

export const result: DeclaredKind<Result> = { kind: 'result', schema: Result };
