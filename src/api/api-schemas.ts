import { z } from 'zod';
import {
  Assessment,
  CapabilityResult,
  CheckFinding,
  CheckResult,
  ClaimNote,
  Effect,
  UnitResult,
  Verdict,
} from '../assessment/assessment.js';
import { Meaning, Role, SignedStatement } from '../dossier/statement.js';
import { Characteristic } from '../kinds/specification.js';
import { HTTP_PROBLEMS } from '../web/http-problem.js';

/** Shapes of what the API answers. The OpenAPI document is made from them, and a test holds the answers to them. */

const Sha256 = z.string().regex(/^[0-9a-f]{64}$/);

const OfEarlierVersion = z
  .boolean()
  .describe('an earlier version of the program assessed it: it waits to be assessed again by this one');

const Proposed = z.strictObject({ verdict: z.string(), releasable: z.boolean() });

const LotLineAnswer = z.strictObject({
  lot: z.string(),
  family: z.string(),
  cases: z.array(z.string()),
  neededBy: z.string().nullable().describe('the earliest day on which one of its implants is needed'),
  state: z.string().describe('in words'),
  units: z.array(
    z.strictObject({
      serial: z.string(),
      case: z.string(),
      verdict: z.union([Verdict, z.literal('not assessed')]),
      decision: z.enum(['released', 'rejected', 'revoked', 'open']).describe('what people decided on it last'),
      hold: z.string().nullable().describe('reason of the hold that lies on it'),
    }),
  ),
  blockers: z.array(
    z.strictObject({
      effect: Effect,
      says: z.string(),
      clearedBy: z.string(),
      check: z.string(),
      units: z.array(z.string()),
    }),
  ),
  record: z
    .strictObject({ number: z.string(), revision: z.int(), draft: z.boolean() })
    .nullable()
    .describe('the latest issued record'),
  assessed: z.boolean(),
  ofEarlierVersion: OfEarlierVersion,
  changedVerdicts: z
    .array(
      z.strictObject({
        entry: z.int().describe('entry of the audit trail that records it'),
        at: z.string(),
        serial: z.string(),
        before: Proposed,
        after: Proposed,
        checks: z.array(
          z.strictObject({ check: z.string(), before: z.string().nullable(), after: z.string().nullable() }),
        ),
        says: z.string(),
      }),
    )
    .describe('verdicts that this version of the program changed, and at which no quality engineer has looked'),
  closed: z.boolean().describe('every implant is released or rejected'),
  outOfDate: z.boolean().describe('facts came or changed since the assessment that this line shows'),
});

export const LotsAnswer = z.strictObject({ lots: z.array(LotLineAnswer) });

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

/** For people; programs go by codes and facts. */
const Words = { says: z.string(), clearedBy: z.string() };

const AssessmentAnswer = Assessment.extend({
  checks: z.array(
    CheckResult.extend({
      title: z.string(),
      basisSays: z.string().describe('why it does not apply, or what it looked at'),
      claims: z.array(ClaimNote.extend({ says: z.string() })),
      findings: z.array(CheckFinding.extend(Words)),
    }),
  ),
  units: z.array(UnitResult.extend({ why: z.array(UnitResult.shape.why.element.extend(Words)) })),
});

export const LotAnswer = z.strictObject({
  lot: z.string(),
  dossierSha256: Sha256.describe('digest of the frozen lot file'),
  assessmentSha256: z.string().describe('digest of the stored assessment'),
  ofEarlierVersion: OfEarlierVersion,
  assessment: AssessmentAnswer,
});

const TraceNodeAnswer = z.strictObject({
  kind: z.string(),
  title: z.string().describe('what people call the kind'),
  key: z.string(),
  name: z.string(),
  revision: z.int().describe('0 for a person who has an account and no document'),
  depth: z.int().describe('number of ties to what was asked for'),
  via: z.string().describe('the ties by which it was reached, with masses'),
});

export const TraceAnswer = z.strictObject({
  asked: z.string(),
  matches: z.array(
    z.strictObject({
      entry: TraceNodeAnswer,
      back: z.array(TraceNodeAnswer).nullable().describe('what it came from'),
      forward: z.array(TraceNodeAnswer).nullable().describe('what came from it'),
      signed: z
        .array(
          z.strictObject({
            at: z.string(),
            meaning: Meaning,
            what: z.string().describe('what the statement covers'),
            role: Role,
            reason: z.string().nullable(),
            digest: Sha256.describe('digest of the statement'),
          }),
        )
        .nullable()
        .describe('of a person: what they signed, the latest first'),
    }),
  ),
});

export const TrendAnswer = z.strictObject({
  family: z.string(),
  characteristic: Characteristic,
  capability: CapabilityResult.describe('over the builds before the latest lot'),
  latestLot: z.string(),
  ofEarlierVersion: OfEarlierVersion,
  lots: z.array(
    z.strictObject({
      lot: z.string(),
      build: z.string(),
      builtAt: z.string(),
      n: z.int(),
      mean: z.number().nullable(),
      min: z.number().nullable(),
      max: z.number().nullable(),
      censored: z.int().describe('values reported as below or above a bound; they are not in n'),
    }),
  ),
});

export const CalculationsAnswer = z.strictObject({
  calculations: z.array(z.strictObject({ name: z.string(), purpose: z.string(), source: z.string() })),
});

export const SessionAnswer = z.strictObject({
  person: z.string().describe('identifier'),
  name: z.string(),
  csrf: z.string().describe('goes into the header X-CSRF-Token of every request that is no GET'),
  endsAt: z.iso.datetime().describe('when the session ends at the latest'),
});

export const RecordAnswer = z.strictObject({
  number: z.string(),
  revision: z.int(),
  draft: z.boolean().describe('until one implant is decided'),
  lot: z.string(),
  fileSha256: Sha256,
  dossierSha256: Sha256,
  enclosureSha256: Sha256,
  href: z.string().describe('where the PDF is'),
});

export const ProblemAnswer = z
  .looseObject({
    type: z.string().describe('reference to what the code means'),
    title: z.string(),
    status: z.int(),
    detail: z.string(),
    instance: z.string().describe('path of the request'),
    code: z.enum(Object.keys(HTTP_PROBLEMS) as [string, ...string[]]),
  })
  .describe('Problem details of RFC 9457; further members carry the facts, such as `problems`, `field` or `key`.');
