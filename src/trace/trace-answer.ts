import { z } from 'zod';
import { Verdict } from '../assessment/assessment.js';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { Meaning, Role } from '../dossier/statement.js';
import { Sha256 } from '../web/fields.js';

/** Shape of what the API answers of a trace. */

const ThingName = z.strictObject({ kind: z.string(), key: z.string() });

const TraceNodeAnswer = z.strictObject({
  kind: z.string(),
  title: z.string().describe('what people call the kind'),
  key: z.string(),
  name: z.string(),
  revision: z.int().describe('0 for a person who has an account and no document'),
  depth: z.int().describe('number of ties to what was asked for'),
  via: z.string().describe('the ties by which it was reached, with masses and counts'),
  nearer: z.array(ThingName).describe('things one tie nearer to what was asked for, by which it was reached'),
  verdict: Verdict.nullable().describe('of an implant, by its current assessment; null for everything else'),
});

export const TraceAnswer = z.strictObject({
  asked: z.string(),
  narrowed: z
    .strictObject({
      direction: z.enum(['back', 'forward']).nullable(),
      from: z.string().nullable().describe('only what was used from this moment on'),
      to: z.string().nullable().describe('only what was used up to this moment'),
      asOf: z.string().nullable().describe('from what was on record at this moment'),
    })
    .describe('how it was narrowed; null where it was not'),
  head: z
    .strictObject({ size: z.int().nonnegative(), root: Sha256 })
    .describe('entries of the audit trail from which it was answered, and its root'),
  cannotKnow: z.array(z.string()).describe('what no search here can tell'),
  candidates: z
    .array(z.strictObject({ kind: z.string(), title: z.string(), key: z.string(), found: z.string().nullable() }))
    .describe('where more things bear the identifier than are traced at once: all of them; else empty'),
  matches: z.array(
    z.strictObject({
      entry: TraceNodeAnswer,
      found: z.string().nullable().describe('what of it the identifier is; null where it is its own key'),
      balance: z.string().nullable().describe('how many of its implants were made, and where they are'),
      units: z
        .array(
          z.strictObject({
            serial: z.string(),
            lot: z.string(),
            verdict: Verdict.nullable(),
            place: z.string().describe('with a hold that lies on it'),
            since: z.string().nullable(),
            holder: z.string(),
            by: z.string().nullable().describe('document that says so; null where its build and decisions do'),
            shares: z
              .array(z.strictObject({ build: z.string(), fraction: z.number().describe('by mass') }))
              .describe('of a heat, a receipt or a powder state: its fraction in what each of its builds took'),
          }),
        )
        .describe('the implants that it has to do with, each once'),
      powder: z
        .array(
          z.strictObject({
            of: z.string().describe('the powder state or build'),
            shares: z.array(z.strictObject({ receipt: z.string(), fraction: z.number().describe('by mass') })),
          }),
        )
        .describe('where the powder came from; of an implant or a coupon for each build that it was made in'),
      inStates: z
        .array(z.strictObject({ state: z.string(), fraction: z.number().describe('by mass') }))
        .describe('of a heat, a receipt or a powder state: its fraction in each powder state that was made of it'),
      back: z.array(TraceNodeAnswer).nullable().describe('what it came from'),
      forward: z.array(TraceNodeAnswer).nullable().describe('what came from it'),
      earlier: z
        .array(
          z.strictObject({
            ...ThingName.shape,
            title: z.string(),
            direction: z.enum(['back', 'forward']),
            nearer: ThingName.describe('the thing of the answer from which the tie led'),
            via: z.string().describe('the tie, with the revision that had it'),
          }),
        )
        .describe('what superseded revisions were tied to and the latest ones are not any more'),
      signed: z
        .array(
          z.strictObject({
            at: z.string(),
            meaning: Meaning,
            step: z.enum(RELEASE_STEPS).nullable().describe('what a release is for'),
            what: z.string().describe('what the statement covers'),
            role: Role,
            reason: z.string().nullable(),
            digest: Sha256.describe('digest of the statement'),
          }),
        )
        .nullable()
        .describe('of a person: what they signed, the latest first'),
      entered: z
        .array(z.strictObject({ at: z.string(), what: z.string().describe('the revision') }))
        .nullable()
        .describe('of a person: what they took in, the latest first'),
    }),
  ),
});
