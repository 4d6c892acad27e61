import { z } from 'zod';
import { CapabilityStatement } from '../assessment/family/statement.js';
import { Sha256 } from '../web/fields.js';

/** What the API answers of statements of capability. */

export const StatementLineAnswer = z.strictObject({
  number: z.int().positive(),
  digest: Sha256,
  statedAt: z.string(),
  window: z.strictObject({ from: z.string(), to: z.string() }).describe('days of closing, both included'),
  says: z.string().describe('able, not able or too few, in words'),
  reviewed: z.string().nullable().describe('by whom and when; null until quality reviewed it'),
  since: z.array(z.string()).describe('what came to be known of it, in words'),
});

export const StatementsAnswer = z.strictObject({
  family: z.string(),
  characteristic: z.string(),
  statements: z.array(StatementLineAnswer).describe('the last ten, latest first'),
});

export const StatementAnswer = z.strictObject({
  digest: Sha256.describe('of the canonical JSON of the statement'),
  known: z.boolean().describe('the same was stated before: nothing was stored'),
  statement: CapabilityStatement,
});
