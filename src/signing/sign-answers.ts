import { z } from 'zod';
import { Meaning, SignedStatement } from '../dossier/statement.js';

/** Shapes of what the API answers of signing. */

export const WaitingAnswer = z.strictObject({
  waiting: z.array(
    z.strictObject({
      thing: z.string().describe('name of the thing, with the digest of what is signed'),
      meaning: Meaning,
      act: z.string(),
      title: z.string(),
      lot: z.string().nullable(),
      neededBy: z.string().nullable(),
      units: z.array(z.string()),
      group: z.string().nullable().describe('findings with the same group are decided together'),
      who: z.array(z.string()).describe('codes of the people who may sign it now'),
    }),
  ),
});

export const SignedAnswer = z.strictObject({ signed: SignedStatement });
