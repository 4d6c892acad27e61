import { z } from 'zod';
import { Meaning } from '../dossier/statement.js';

/** What requests may carry. Unknown fields are refused. */

export const RecordQuery = z.strictObject({
  revision: z
    .string()
    .regex(/^[1-9]\d{0,8}$/, { error: 'a revision number, from 1' })
    .transform(Number)
    .optional()
    .describe('revision of the record; the latest when absent'),
});

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

export const TraceQuery = z.strictObject({
  direction: z.enum(['back', 'forward']).optional().describe('only what it came from, or only what came from it'),
});

/** The search box may be sent empty. */
export const TraceSearch = z.strictObject({ id: z.string().trim().max(200).default('') });

export const TrendQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  characteristic: identifier('a characteristic').describe('short name of the characteristic'),
});

export const CalculationForm = z.strictObject({
  input: z.string().max(1_000_000).describe('JSON text of the input'),
});

export const SignInRequest = z.strictObject({
  person: z.string().min(1, 'an identifier').max(60, 'an identifier of at most 60 characters'),
  password: z.string().min(1, 'a password').max(1000, 'a password of at most 128 characters'),
});

const password = z.string().min(1, 'a password').max(1000, 'a password of at most 128 characters');
const reason = z.string().max(4000, 'at most 4000 characters');
const serials = z.array(z.string().min(1).max(200)).max(500);

export const SignRequest = z.strictObject({
  things: z
    .array(z.string().min(1).max(400))
    .min(1)
    .max(500)
    .describe(
      'what is signed in one statement, of one kind and one lot, as /waiting names it; with # and a digest exactly what was seen',
    ),
  meaning: Meaning,
  units: serials.default([]).describe('serials, for released and rejected'),
  outcome: z.enum(['accepted', 'rejected']).optional().describe('for decided'),
  reason: reason.optional().describe('rationale of a decision, reason of a rejection'),
  password: password.describe('of the person who is signed in; each act of signing needs it'),
});

export const UnitActRequest = z.strictObject({ units: serials, reason, password });
