import { z } from 'zod';
import {
  Assessment,
  CapabilityResult,
  CharacteristicVerdict,
  CheckFinding,
  CheckResult,
  ClaimNote,
  Effect,
  PlanVerdict,
  UnitResult,
  ValueVerdict,
  Verdict,
} from '../assessment/assessment.js';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { PLACES } from '../kinds/after-release/places.js';
import { assessedInWords } from '../report/assessment-words.js';
import { Sha256 } from '../web/fields.js';
import type { AssessedLot } from './lot-assessor.js';
import { LOT_STAGES } from './lot-stage.js';

/** Shapes of what the API answers of lots. */

export const OfEarlierVersion = z
  .boolean()
  .describe('an earlier version of the program assessed it: it waits to be assessed again by this one');

const Proposed = z.strictObject({ verdict: z.string(), releasable: z.boolean() });

const LotLineAnswer = z.strictObject({
  lot: z.string(),
  family: z.string(),
  cases: z.array(z.string()),
  neededBy: z.string().nullable().describe('the earliest day on which one of its implants is needed'),
  state: z.string().describe('in words'),
  stage: z.enum(LOT_STAGES).describe('the last stage that is behind it'),
  units: z.array(
    z.strictObject({
      serial: z.string(),
      case: z.string(),
      verdict: z.union([Verdict, z.literal('not assessed')]),
      decision: z.enum(['released', 'rejected', 'revoked', 'open']).describe('what people decided on it last'),
      releasedFor: z.array(z.enum(RELEASE_STEPS)).describe('steps for which it is released as it stands'),
      hold: z.string().nullable().describe('reason of the hold that lies on it'),
      where: z
        .strictObject({
          place: z.enum(PLACES),
          since: z.string().nullable(),
          by: z.strictObject({ kind: z.string(), key: z.string() }).nullable().describe('document that says so'),
          holder: z
            .strictObject({ institution: z.string(), address: z.string() })
            .nullable()
            .describe('who has it, once it left the cell'),
          contradicted: z.boolean().describe('a document on record contradicts it'),
        })
        .describe('where it is'),
    }),
  ),
  blockers: z.array(
    z.strictObject({
      effect: Effect,
      says: z.string(),
      clearedBy: z.string(),
      check: z.string(),
      findings: z.array(z.string()).describe('identities of the findings of which this is said'),
      units: z.array(z.string()),
    }),
  ),
  record: z
    .strictObject({ number: z.string(), revision: z.int(), draft: z.boolean(), final: z.boolean() })
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
        notAgain: z
          .strictObject({ dossier: z.string(), why: z.string() })
          .nullable()
          .describe('the lot file of before, where these rules could not assess it: facts may have changed too'),
        says: z.string(),
      }),
    )
    .describe('verdicts that this version of the program changed, and at which no quality engineer has looked'),
  closed: z
    .boolean()
    .describe('every implant is released as far as this version can record, or rejected, used up or kept back'),
  outOfDate: z.boolean().describe('facts came or changed since the assessment that this line shows'),
});

export const LotsAnswer = z.strictObject({ lots: z.array(LotLineAnswer) });

/** For people; programs go by codes and facts. */
const Words = { says: z.string(), clearedBy: z.string() };

export const CapabilityAnswer = CapabilityResult.extend({
  excluded: z.array(CapabilityResult.shape.excluded.element.extend({ says: z.string() })),
  methodSays: z.string().nullable(),
  notesSay: z.array(z.string()),
  signalsSay: z.array(z.string()).describe('signals of the chart on points of this lot'),
});

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
  characteristics: z.array(
    CharacteristicVerdict.extend({
      values: z.array(ValueVerdict.extend({ says: z.string().describe('why it has its verdict') })),
      plan: PlanVerdict.extend({ ruleSays: z.string(), says: z.string() }),
      notesSay: z.array(z.string()),
    }),
  ),
  capability: z.array(CapabilityAnswer),
});

export const LotAnswer = z.strictObject({
  lot: z.string(),
  dossierSha256: Sha256.describe('digest of the frozen lot file'),
  assessmentSha256: z.string().describe('digest of the stored assessment'),
  ofEarlierVersion: OfEarlierVersion,
  assessment: AssessmentAnswer,
});

export function lotAnswer(lot: string, assessed: AssessedLot) {
  const { dossierSha256, assessmentSha256, ofEarlierVersion } = assessed;
  return { lot, dossierSha256, assessmentSha256, ofEarlierVersion, assessment: assessedInWords(assessed) };
}
