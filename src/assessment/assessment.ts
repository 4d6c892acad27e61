import { z } from 'zod';
import { TakenOutValue } from '../dossier/family-history.js';
import { ExclusionReason } from '../dossier/pool.js';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { CapabilityNote, PlanOutcome, SpecimenGap, ValidationFault, ValueReason, VerdictNote } from './reasons.js';

/** Missing data never conforms (docs/trade.md 2.1). */
export const Verdict = z.enum(['conforms', 'does not conform', 'cannot be decided']);
export type Verdict = z.infer<typeof Verdict>;

export const Outcome = z.enum(['passes', 'fails', 'cannot be decided', 'does not apply']);
export type Outcome = z.infer<typeof Outcome>;

/** What a failing check does to a unit. */
export const Effect = z.enum(['does not conform', 'cannot be decided', 'blocks release']);
export type Effect = z.infer<typeof Effect>;

/** Something named in the dossier, so that page and record can lead there. */
export const Subject = z.strictObject({ kind: z.string(), key: z.string() });
export type Subject = z.infer<typeof Subject>;

/**
 * What people may do about a finding. `decision`: once decided it counts no more. `concession`: the units may be released
 * as they are, the verdict stays. `no`: only other facts clear it.
 */
export const MayBeDecided = z.enum(['no', 'decision', 'concession']);
export type MayBeDecided = z.infer<typeof MayBeDecided>;

export const CheckFinding = z.strictObject({
  /** SHA-256 over check, rule, subjects and facts: a decision on it holds while these are unchanged. */
  id: z.string(),
  rule: z.string(),
  subjects: z.array(Subject),
  facts: z.record(z.string(), z.string()),
  effect: Effect,
  /** Serials of the implants that it touches. */
  units: z.array(z.string()),
  mayBeDecided: MayBeDecided,
  /** What a process and a quality engineer signed on it; `half` while one of the two has not. */
  decision: z.enum(['accepted', 'rejected', 'half']).nullable(),
});
export type CheckFinding = z.infer<typeof CheckFinding>;

/** An approval, an acceptance or a decision that a check looked at, and how it stands. */
export const ClaimNote = z.strictObject({
  what: z.enum(['approval', 'acceptance', 'log finding', 'invalid test', 'result sheet']),
  facts: z.record(z.string(), z.string()),
  how: z.enum(['signed', 'approved elsewhere', 'claimed']),
  by: z.string(),
  at: z.string(),
});
export type ClaimNote = z.infer<typeof ClaimNote>;

export const CheckResult = z.strictObject({
  code: z.string(),
  clause: z.string(),
  moment: z.enum(['build', 'sterilisation', 'release']),
  outcome: Outcome,
  /** What it looked at. */
  basis: z.record(z.string(), z.string()),
  claims: z.array(ClaimNote),
  findings: z.array(CheckFinding),
});
export type CheckResult = z.infer<typeof CheckResult>;

/** One planned value: what was planned, what was found, and what follows. */
export const ValueVerdict = z.strictObject({
  /** Place in the results table from 1, null when the value is missing. */
  row: z.int().nullable(),
  specimen: z.string(),
  piece: z.string(),
  replicate: z.int(),
  value: z.string(),
  /** The value as compared: rounded where the rounding rule says so. */
  compared: z.string(),
  verdict: Verdict,
  why: ValueReason,
  role: z.enum(['planned', 'repeat', 'replacement', 'invalid test', 'reworked']),
});
export type ValueVerdict = z.infer<typeof ValueVerdict>;

/** All print; what comes from an invalid test, or from before a rework, counts no more. */
export const counts = ({ role }: Pick<ValueVerdict, 'role'>): boolean => role !== 'invalid test' && role !== 'reworked';

/** What the plan of a characteristic says of its values together. */
export const PlanVerdict = z.strictObject({
  rule: z.enum([
    'every-unit',
    'zero-acceptance',
    'single-sampling',
    'variables',
    'tolerance-interval',
    'process-validation',
  ]),
  verdict: Verdict,
  outcome: PlanOutcome,
  /** What it was computed from and to: n, mean, sd, k, bounds… to nine significant digits. */
  numbers: z.record(z.string(), z.number()),
  /** What keeps specimens from being counted, of the first few that there are. */
  gaps: z.array(SpecimenGap),
  /** How many more specimens have gaps. */
  furtherGaps: z.int(),
  /** What is wrong with the process validation that the plan rests on. */
  validation: ValidationFault.nullable(),
});
export type PlanVerdict = z.infer<typeof PlanVerdict>;

export const CharacteristicVerdict = z.strictObject({
  characteristic: z.string(),
  unit: z.string(),
  verdict: Verdict,
  values: z.array(ValueVerdict),
  /** Limits after guard bands, as text; the limits themselves where the rule is simple. */
  acceptFrom: z.string().nullable(),
  acceptTo: z.string().nullable(),
  plan: PlanVerdict,
  /** Due after release and not there yet, while the process validation relied on is valid: it does not hold up release. */
  openUntil: z.string().nullable(),
  notes: z.array(VerdictNote),
});
export type CharacteristicVerdict = z.infer<typeof CharacteristicVerdict>;

/** Something that an implant has to have gone through before it may be distributed, and how that stands. */
export const Gate = z.strictObject({
  gate: z.enum(['clean', 'pack', 'sterilise', 'label']),
  state: z.enum(['passed', 'open']),
});
export type Gate = z.infer<typeof Gate>;

export const UnitResult = z.strictObject({
  serial: z.string(),
  verdict: Verdict,
  releasable: z.boolean(),
  /** Every reason that keeps it from conforming or from release, most severe first. */
  why: z.array(
    z.strictObject({
      effect: Effect,
      check: z.string(),
      /** Identity of the finding that says so. */
      finding: z.string(),
      mayBeDecided: MayBeDecided,
      /** A signed concession lets the unit go as it is; its verdict stays. */
      conceded: z.boolean(),
      /** The first step that it keeps the unit from: what is due later keeps nothing from being sterilised. */
      before: z.enum(RELEASE_STEPS),
    }),
  ),
  /** What its route asks before it may be distributed. */
  gates: z.array(Gate),
  /** Steps of its route from which nothing keeps it: no reason, and for distribution no gate. */
  releasableFor: z.array(z.enum(RELEASE_STEPS)),
  /** Characteristics whose results are due after release. */
  open: z.array(z.strictObject({ characteristic: z.string(), until: z.string() })),
});
export type UnitResult = z.infer<typeof UnitResult>;

export const HistoryPoint = z.strictObject({
  lot: z.string(),
  build: z.string(),
  builtAt: z.string(),
  specimen: z.string(),
  value: z.number(),
  ofThisLot: z.boolean(),
});
export type HistoryPoint = z.infer<typeof HistoryPoint>;

export const CapabilityResult = z.strictObject({
  characteristic: z.string(),
  /** What the chart shows: the last values of earlier builds, in build order, then those of this lot. */
  points: z.array(HistoryPoint),
  excluded: z.array(z.strictObject({ why: ExclusionReason, values: z.int(), lots: z.int() })),
  /** Values of earlier builds that a signed decision took out: they count nowhere. The last of them are named. */
  takenOut: z.strictObject({ values: z.int(), last: z.array(TakenOutValue) }),
  /** Of earlier builds: what mean, spread and index are of. */
  n: z.int(),
  lots: z.int(),
  builds: z.int(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  mean: z.number().nullable(),
  sd: z.number().nullable(),
  ppk: z.number().nullable(),
  /** The bound that counts: the lower one of `bounds`. */
  ppkLower: z.number().nullable(),
  /** With values taken as independent, and with builds as what is independent. */
  bounds: z.strictObject({ independent: z.number().nullable(), builds: z.number().nullable() }),
  confidence: z.number(),
  /**
   * Index and bound against the limits by which coupons of this lot are judged, where studies moved these; null where
   * values are judged by the limits of the specification.
   */
  applied: z
    .strictObject({
      lower: z.string().nullable(),
      upper: z.string().nullable(),
      studies: z.array(z.string()),
      ppk: z.number().nullable(),
      ppkLower: z.number().nullable(),
    })
    .nullable(),
  /** Within and between builds; null without two builds or without a spread. */
  spread: z
    .strictObject({
      /** Mean of the means of the builds, and standard deviation of a single value of any build. */
      mean: z.number(),
      sd: z.number(),
      /** Standard deviations; null where no build has two values. */
      within: z.number().nullable(),
      between: z.number().nullable(),
      /** Test of equal builds. */
      f: z.number().nullable(),
      p: z.number().nullable(),
      /** So many independent values the bound by builds takes them for, and what degrees of freedom. */
      effectiveValues: z.number(),
      degreesOfFreedom: z.number(),
    })
    .nullable(),
  /** Shapiro-Wilk test of the single values of earlier builds that the lot file carries; null for too few, or equal ones. */
  normality: z.strictObject({ values: z.int(), w: z.number(), p: z.number() }).nullable(),
  /**
   * Of the builds that the lot file names, how many have every value within the limits, and the share of builds that do so
   * at the confidence of the index, whatever the distribution; null without a build.
   */
  within: z.strictObject({ builds: z.int(), keeping: z.int(), shareLower: z.number() }).nullable(),
  /** The distribution that the plan names; normal without a plan. */
  distribution: z.string(),
  /** Least bound that the plan wants to be shown. */
  target: z.string().nullable(),
  /** How the bound was computed; null without an index. */
  method: z.enum(['exact for one limit', 'conservative for two limits']).nullable(),
  /** Individuals chart with the limits that the baseline of a signed plan fixes; null without such a plan. */
  chart: z
    .strictObject({
      plan: z.string(),
      revision: z.int(),
      approvedAt: z.string(),
      approvedBy: z.strictObject({ code: z.string(), name: z.string() }),
      baseline: z.strictObject({ points: z.int(), from: z.string(), to: z.string() }),
      centre: z.number(),
      lower: z.number(),
      upper: z.number(),
      /** On points of this lot: something to look at. No verdict turns by it. */
      signals: z.array(z.strictObject({ index: z.int(), rule: z.string() })),
    })
    .nullable(),
  notes: z.array(CapabilityNote),
});
export type CapabilityResult = z.infer<typeof CapabilityResult>;

/** What the checks and the statistics say of one dossier. Proposed: a named, qualified person decides. */
export const Assessment = z.strictObject({
  format: z.literal(1),
  dossierSha256: z.string(),
  /** Of the rules that assessed: the same one comes to the same verdict on the same lot file. */
  version: z.string(),
  checks: z.array(CheckResult),
  characteristics: z.array(CharacteristicVerdict),
  units: z.array(UnitResult),
  capability: z.array(CapabilityResult),
  releasable: z.array(z.string()),
});
export type Assessment = z.infer<typeof Assessment>;

const SEVERITY: readonly Verdict[] = ['conforms', 'cannot be decided', 'does not conform'];

/** The most severe of several verdicts; of none, *cannot be decided*, since missing data never conforms. */
export function worstVerdict(verdicts: readonly Verdict[]): Verdict {
  if (verdicts.length === 0) return 'cannot be decided';
  return verdicts.reduce((worst, verdict) => (SEVERITY.indexOf(verdict) > SEVERITY.indexOf(worst) ? verdict : worst));
}
