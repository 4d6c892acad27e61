import { z } from 'zod';
import { Verdict } from '../assessment/assessment.js';
import { What } from '../dossier/difference.js';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { Meaning, Statement } from '../dossier/statement.js';

/** What a decision on an implant was, with the step of a release. */
const DecidedAs = z.strictObject({ meaning: Meaning, step: z.enum(RELEASE_STEPS).nullable() });

/** What a record says otherwise than the revision that it supersedes, as codes and facts: a record carries these. */
export const RecordChange = z.discriminatedUnion('code', [
  /** Null before for a new implant, after for one that left the lot. */
  z.strictObject({
    code: z.literal('verdict'),
    serial: z.string(),
    before: Verdict.nullable(),
    after: Verdict.nullable(),
  }),
  /** Null while nobody decided. */
  z.strictObject({
    code: z.literal('decision'),
    serial: z.string(),
    before: DecidedAs.nullable(),
    after: DecidedAs.nullable(),
  }),
  z.strictObject({ code: z.literal('fact'), what: What }),
  z.strictObject({ code: z.literal('signed'), statement: Statement }),
  z.strictObject({ code: z.literal('rules'), before: z.string(), after: z.string() }),
  /** Facts, or anything at all, of the superseded record could not be compared. */
  z.strictObject({
    code: z.literal('not compared'),
    record: z.strictObject({ number: z.string(), revision: z.int().positive() }),
    why: z.enum(['enclosure not readable', 'assessment not readable', 'lot file not here', 'lot file not readable']),
    /** Name of the part of its lot file that is to blame, where a single one is. */
    part: z.string().nullable(),
  }),
]);
export type RecordChange = z.infer<typeof RecordChange>;
