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

/** `L-1:W1/A:rm`. */
export const resultKey = ({ lot, specimen, piece, characteristic }: Omit<Result, 'values' | 'digest'>): string =>
  `${lot}:${specimen}${piece === '' ? '' : `/${piece}`}:${characteristic}`;

export const result: DeclaredKind<Result> = { kind: 'result', schema: Result };
