import { readReported } from '../dossier/reported-value.js';
import type { DesignStudy } from '../kinds/design-history/design-study.js';
import type { ClaimMethod } from '../kinds/design-history/study-criterion.js';
import { SHAPIRO_WILK_SIZES, shapiroWilk } from '../statistics/normality.js';
import { sampleSize } from '../statistics/sample-size.js';
import { moments } from '../statistics/summary.js';
import { oneSidedFactor, twoSidedFactor } from '../statistics/tolerance.js';
import type { DesignFacts, DesignRevision, StudiedValue } from './design-facts.js';
import type { DesignIndex } from './design-index.js';
import { byLoss, NO_LOSS, type StudiedLoss } from './loss-claims.js';
import { isTested, lotsOf } from './studies.js';

export const CLAIM_ANSWERS = ['holds', 'does not hold', 'cannot be decided'] as const;
export type ClaimAnswer = (typeof CLAIM_ANSWERS)[number];

/** Why a claim cannot be decided. */
export const UNDECIDED = [
  'done elsewhere',
  'another number of values',
  'another unit',
  'bounds among the values',
  'too few values',
  'too many values',
  'no spread',
  'not normal',
  'too few for the claim',
  'no share claimed',
  'no reviewed statement',
  ...NO_LOSS,
] as const;
export type Undecided = (typeof UNDECIDED)[number];

/** What comes of the values on record for the criterion of a study. */
export interface ComputedClaim {
  readonly study: string;
  readonly revision: number;
  readonly characteristic: string;
  readonly method: ClaimMethod;
  readonly answer: ClaimAnswer;
  readonly why: Undecided | null;
  readonly lots: readonly string[];
  /** Every value that it rests on, in the order of lot, specimen, piece and replicate. */
  readonly values: readonly (StudiedValue & { readonly lot: string })[];
  /** Of a claim on a loss: what it rests on in place of values. */
  readonly losses: readonly StudiedLoss[];
  /** Numbers that led to the answer, by name, so that a stranger computes it again. */
  readonly numbers: Readonly<Record<string, number>>;
}

/** One answer asks for them several times: rules on gaps, and the answer itself. */
const computed = new WeakMap<DesignFacts, readonly ComputedClaim[]>();

/** Of each current study that has a result. */
export function computedClaims(design: DesignIndex): readonly ComputedClaim[] {
  const known = computed.get(design.facts);
  if (known) return known;
  const studies = design.current('design-study').filter(({ body }) => body.result !== 'open');
  const claims = studies.map((study) => computedClaim(design, study));
  computed.set(design.facts, claims);
  return claims;
}

const SMALLEST_P = 0.05;

function computedClaim(design: DesignIndex, study: DesignRevision<'design-study'>): ComputedClaim {
  const { criterion } = study.body;
  const lots = lotsOf(design, study.body);
  const method = methodOf(study.body);
  const isOfLoss = method === 'loss against window';
  const values = isOfLoss ? [] : valuesOf(design, study.body, lots);
  const common = { study: study.key, revision: study.revision, characteristic: criterion.characteristic };
  const made = { ...common, method, lots, values, losses: [] };
  if (lots.length === 0) return { ...made, ...undecided('done elsewhere') };
  return { ...made, ...(isOfLoss ? byLoss(design, study.body) : decide(design, study.body, method, values)) };
}

/** As the study says; where it says nothing, by whether it speaks of a share of all units. */
const methodOf = ({ criterion }: DesignStudy): ClaimMethod =>
  criterion.by ?? (criterion.reliability === undefined ? 'each value' : 'tolerance interval');

type Decided = Pick<ComputedClaim, 'answer' | 'why' | 'numbers'>;
type Numbers = ComputedClaim['numbers'];

const undecided = (why: Undecided, numbers: Numbers = {}): Decided => ({ answer: 'cannot be decided', why, numbers });
const answered = (holds: boolean, numbers: Numbers): Decided => ({
  answer: holds ? 'holds' : 'does not hold',
  why: null,
  numbers,
});

/** Values of the parts that it names, or of all parts of its lots where it names none of a lot. */
function valuesOf(design: DesignIndex, study: DesignStudy, lots: readonly string[]): ComputedClaim['values'] {
  const found = lots.flatMap((lot) =>
    (design.facts.lots.get(lot)?.values ?? [])
      .filter(({ characteristic }) => characteristic === study.criterion.characteristic)
      .filter(({ specimen }) => isTested(design, study, lot, specimen))
      .map((value) => ({ ...value, lot })),
  );
  const placeOf = ({ lot, specimen, piece, replicate }: ComputedClaim['values'][number]) =>
    [lot, specimen, piece, replicate].join('\u0000');
  return found.sort((a, b) => (placeOf(a) < placeOf(b) ? -1 : 1));
}

function decide(
  design: DesignIndex,
  { criterion, n }: DesignStudy,
  method: ClaimMethod,
  values: ComputedClaim['values'],
): Decided {
  if (method === 'capability statement') return byStatement(design, criterion);
  // Whatever is missing may have spoken against it, so that nothing is decided without it.
  if (values.length !== n) return undecided('another number of values', { tested: n, onRecord: values.length });
  if (values.some(({ ucum }) => ucum !== criterion.ucum)) return undecided('another unit');
  const reported = values.map(({ value }) => readReported(value));
  const numbers = reported.map(({ number }) => Number(number));
  if (reported.some(({ qualifier }) => qualifier !== '')) return undecided('bounds among the values');
  if (method === 'tolerance interval') return byInterval(criterion, numbers);
  const outside = numbers.filter((value) => !isInside(criterion, value)).length;
  const counted = { n, outside, smallest: Math.min(...numbers), largest: Math.max(...numbers) };
  if (method === 'each value') return answered(outside === 0, counted);
  if (criterion.reliability === undefined) return undecided('no share claimed', counted);
  if (outside > 0) return answered(false, counted);
  const { content, confidence } = sharesOf(criterion);
  const needed = sampleSize({ content, confidence, failuresAllowed: 0 });
  const shown = { ...counted, confidence, reliability: content, needed };
  return n >= needed ? answered(true, shown) : undecided('too few for the claim', shown);
}

type Criterion = DesignStudy['criterion'];

const sharesOf = ({ reliability, confidence }: Criterion) => ({
  content: Number(reliability),
  confidence: Number(confidence),
});

function isInside({ claim, value, upTo }: Criterion, measured: number): boolean {
  if (claim === 'at least') return measured >= Number(value);
  if (claim === 'at most') return measured <= Number(value);
  return measured >= Number(value) && measured <= Number(upTo);
}

/** Limits that hold the claimed share of a normal population with the claimed confidence lie inside what is claimed. */
function byInterval(criterion: Criterion, values: readonly number[]): Decided {
  const n = values.length;
  if (criterion.reliability === undefined) return undecided('no share claimed', { n });
  if (n < SHAPIRO_WILK_SIZES.smallest) return undecided('too few values', { n });
  if (n > SHAPIRO_WILK_SIZES.largest) return undecided('too many values', { n });
  const { mean, sd, sumSquares, min, max } = moments(values);
  // Equal values may differ from their mean by rounding, and values that differ may do so by less than a square holds.
  if (min === max || sumSquares === 0) return undecided('no spread', { n, mean });
  const { p } = shapiroWilk(values);
  if (p < SMALLEST_P) return undecided('not normal', { n, mean, sd, p });
  const design = { n, degreesOfFreedom: n - 1, ...sharesOf(criterion) };
  const k = criterion.claim === 'within' ? twoSidedFactor(design, 'exact') : oneSidedFactor(design);
  const [lower, upper] = [mean - k * sd, mean + k * sd];
  const holds =
    criterion.claim === 'at least'
      ? lower >= Number(criterion.value)
      : criterion.claim === 'at most'
        ? upper <= Number(criterion.value)
        : lower >= Number(criterion.value) && upper <= Number(criterion.upTo);
  const shown =
    criterion.claim === 'at least' ? { lower } : criterion.claim === 'at most' ? { upper } : { lower, upper };
  const { content: reliability, confidence } = sharesOf(criterion);
  return answered(holds, { n, mean, sd, p, confidence, reliability, k, ...shown });
}

/** The lower bound of the index in the last statement that quality reviewed is at least what is claimed. */
function byStatement({ facts }: DesignIndex, { characteristic, value }: Criterion): Decided {
  const found = facts.statements.find((one) => one.characteristic === characteristic);
  if (found === undefined || found.lower === null) return undecided('no reviewed statement');
  return answered(found.lower >= Number(value), {
    statement: found.number,
    lower: found.lower,
    claimed: Number(value),
  });
}
