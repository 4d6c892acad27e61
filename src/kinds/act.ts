import { z } from 'zod';
import type { DeclaredKind } from './kind.js';

/** One signed statement as traces meet it: what it says stands in the statement itself. */
export const Act = z.strictObject({
  statement: z.string().describe('SHA-256 of the statement'),
  meaning: z.string(),
  person: z.string().describe('code of the person'),
  at: z.string(),
});
export type Act = z.infer<typeof Act>;

export const act: DeclaredKind<Act> = { kind: 'act', schema: Act };
