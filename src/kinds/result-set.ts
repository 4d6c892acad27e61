import { z } from 'zod';
import type { DeclaredKind } from './kind.js';

/** One result sheet: what was in it, without its rows. */
export const ResultSet = z.strictObject({
  lot: z.string(),
  file: z.string(),
  evidence: z.string(),
  rows: z.int().nonnegative(),
  digest: z.string().describe('of the rows as canonical JSON'),
});
export type ResultSet = z.infer<typeof ResultSet>;

export const resultSet: DeclaredKind<ResultSet> = { kind: 'result-set', schema: ResultSet };
