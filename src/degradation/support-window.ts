import { CalculationError } from '../base/errors.js';
import { normalQuantile } from '../statistics/distributions.js';
import { requireNonNegative, requirePositive } from '../statistics/guards.js';
import { tQuantile } from '../statistics/student-t.js';
import type { LossAt, LossOverTime } from './loss-over-time.js';
import { endOf, type LoadSection, sectionLeft } from './section-left.js';
import { farther, isReached, type Moved, type Simulation, simulatedEnds, toleranceOf } from './simulation.js';

/** Deepest over mean attack of specimens, with the standard uncertainty of one more of them; 1 and 0 for uniform loss. */
export interface Localisation {
  readonly factor: number;
  readonly standardUncertainty: number;
  /** Of the standard uncertainty: 0 where one specimen tells nothing of it; absent where it is stated as it is. */
  readonly degreesOfFreedom?: number | undefined;
}

/** The smallest section that was measured on the part itself, so many weeks in the medium. */
export interface MeasuredSection {
  readonly weeks: number;
  readonly sizeMm: number;
}

export interface WindowAsked {
  readonly holdWeeks: number;
  readonly strengthLeft: number;
  readonly stiffnessLeft: number;
  readonly goneByWeeks?: number | undefined;
}

export interface WindowOptions {
  readonly measured?: readonly MeasuredSection[] | undefined;
  readonly simulation?: Simulation | undefined;
}

export type WindowOutcome = 'inside' | 'outside' | 'cannot be decided';

/** A fraction left with its interval at the confidence, one-sided at each end. */
export interface Fraction {
  readonly mean: number;
  readonly lower: number;
  readonly upper: number;
}

export type Unknown = 'specimens' | 'localisation' | 'falls' | 'section' | 'draws';
export type WindowDriver = 'curve' | 'specimens' | 'measuring' | 'localisation';

export interface WindowAnswer {
  readonly hold: WindowOutcome;
  /** Absent where no week is stated by which it should be gone. */
  readonly gone?: WindowOutcome;
  readonly outcome: WindowOutcome;
  /** What is left at the end of the weeks that it has to hold; absent where the exposures do not tell. */
  readonly strength?: Fraction;
  readonly stiffness?: Fraction;
  /** Weeks beyond `holdWeeks` for which it is known to hold, whole; negative where it is known to hold for fewer. */
  readonly marginWeeks: number;
  /** Set where the margin ends with the longest exposure, and may be longer. */
  readonly isAtLeast: boolean;
  /** The largest part of the uncertainty at the end of the weeks, with its share of the variance. */
  readonly driver?: { readonly source: WindowDriver; readonly share: number };
  /**
   * Why nothing can be decided: spreads of which too few were measured, a longer exposure that lost less than a shorter one,
   * which no loss does, a section that was measured on the part where the design gives a table, which has no sizes, or draws that
   * are too few for the confidence.
   */
  readonly unknown: readonly Unknown[];
  readonly longestWeeks: number;
  /** Whether first order was enough at the end of the weeks, where something was simulated there (JCGM 101:2008, 8.1). */
  readonly firstOrder?: 'enough' | 'not enough';
}

const HOURS_PER_WEEK = 168;

/**
 * Whether one zone holds for the weeks that a case asks, and is gone by those that it states, with the loss of the
 * coupons that speak for it. Inside: what is left stays above the limits with its whole interval; outside: it is known
 * to fall below. A loss never comes back: what holds at a later time held before, and what failed stays failed.
 * @param confidence one-sided, such as 0.95.
 * @param simulation by which each end of an interval is drawn, too, where the deepest attack bends with what it is computed from:
 * the farther end counts. First order alone without one.
 * @param measured sections of the part itself: from then on no more is left. A table of a section has no size: what was
 * measured there has no place in it, so that nothing is known to hold from then on.
 * @throws CalculationError for what is out of range.
 */
export function supportWindow(
  loss: LossOverTime,
  section: LoadSection,
  localisation: Localisation,
  asked: WindowAsked,
  confidence: number,
  { measured = [], simulation }: WindowOptions = {},
): WindowAnswer {
  check(localisation, asked, confidence);
  const longestWeeks = loss.longestHours / HOURS_PER_WEEK;
  const depthAt = (weeks: number, by: Localisation) => deepestAt(loss, by, confidence, weeks, simulation);
  const leftAt = (weeks: number, until = weeks) => {
    const depth = depthAt(weeks, localisation);
    return depth && fractions(section, noLess(depth, measuredUm(section, measured, until)));
  };
  const isUnread = (until: number) => section.shape === 'table' && measured.some(({ weeks }) => weeks <= until);
  const holds = (weeks: number) => weeks === 0 || (!isUnread(weeks) && isLeft(leftAt(weeks), asked, 'lower') === true);
  const atEnd = leftAt(asked.holdWeeks);
  const shown = fractions(section, noLess(NOTHING_KNOWN, measuredUm(section, measured, asked.holdWeeks)));
  const byLoss = holdOutcome(asked, atEnd, shown, leftAt, longestWeeks);
  const hold = byLoss === 'inside' && isUnread(asked.holdWeeks) ? 'cannot be decided' : byLoss;
  const gone =
    asked.goneByWeeks === undefined
      ? undefined
      : goneOutcome(asked.goneByWeeks, section, (weeks) => depthAt(weeks, UNIFORM), longestWeeks);
  const known = knownWeeks(loss, holds, longestWeeks);
  const then = loss.at(asked.holdWeeks * HOURS_PER_WEEK);
  const { firstOrder, isTooFew } = depthAt(asked.holdWeeks, localisation) ?? {};
  return {
    hold,
    ...(gone === undefined ? {} : { gone }),
    outcome: worst(hold, gone),
    ...(atEnd ? { strength: atEnd.strength, stiffness: atEnd.stiffness } : {}),
    marginWeeks: known - asked.holdWeeks,
    isAtLeast: known === Math.floor(longestWeeks + 1e-9),
    ...(then ? driverOf(then, localisation) : {}),
    unknown: [
      ...(loss.spread.degreesOfFreedom > 0 ? [] : (['specimens'] as const)),
      ...(localisation.degreesOfFreedom === 0 ? (['localisation'] as const) : []),
      ...(loss.falls.length > 0 ? (['falls'] as const) : []),
      ...(isUnread(asked.holdWeeks) ? (['section'] as const) : []),
      ...(isTooFew ? (['draws'] as const) : []),
    ],
    longestWeeks,
    ...(firstOrder === undefined ? {} : { firstOrder }),
  };
}

/**
 * The deepest attack after so many weeks, in µm, with its interval; undefined where the exposures do not tell. Loss times factor
 * bends when both are spread, and so does a law with its power: then each end is drawn as well, and counts where it lies farther out
 * by more than chance. Without bound where the draws are too few for the confidence.
 */
export function deepestAt(
  loss: LossOverTime,
  localisation: Localisation,
  confidence: number,
  weeks: number,
  simulation?: Simulation,
): (Interval & Pick<WindowAnswer, 'firstOrder'> & { readonly isTooFew?: true }) | undefined {
  const { factor, ...spread } = localisation;
  const hours = weeks * HOURS_PER_WEEK;
  const found = loss.at(hours);
  if (found === undefined) return undefined;
  const degreesOfFreedom = loss.falls.length > 0 ? 0 : loss.spread.degreesOfFreedom;
  const half = halfWidth(found, degreesOfFreedom, confidence);
  const first = deepest(found.depthUm, half, factor, expanded(spread, confidence));
  const isBent = loss.isBent || spread.standardUncertainty > 0;
  if (simulation === undefined || !isBent || !Number.isFinite(first.upper)) return first;
  if (!isReached(simulation, confidence)) {
    return { mean: first.mean, lower: 0, upper: Number.POSITIVE_INFINITY, isTooFew: true };
  }
  const drawn = simulatedEnds(movedBy(loss, found, degreesOfFreedom, localisation, hours), simulation, confidence);
  const ends = farther(first, drawn);
  const tolerance = toleranceOf(
    Math.hypot(factor * found.standardUncertaintyUm, found.depthUm * spread.standardUncertainty),
  );
  const isEnough = ends.upper - first.upper <= tolerance && first.lower - ends.lower <= tolerance;
  return {
    mean: first.mean,
    ...ends,
    firstOrder: isEnough ? 'enough' : 'not enough',
  };
}

const movedBy = (
  loss: LossOverTime,
  { specimensUm, measuringUm }: LossAt,
  degreesOfFreedom: number,
  { factor, standardUncertainty, degreesOfFreedom: ofFactor }: Localisation,
  hours: number,
): Moved => ({
  ...{ curve: loss.movedAt(hours), specimensUm, measuringUm, degreesOfFreedom, factor },
  factorUncertainty: standardUncertainty,
  // Fewer than estimated spread more: what is no whole number is taken as the whole one below.
  factorDegreesOfFreedom: ofFactor === undefined ? undefined : Math.max(1, Math.floor(ofFactor)),
});

/** Nothing goes by its pits: it is gone when the mean loss has taken all. */
const UNIFORM: Localisation = { factor: 1, standardUncertainty: 0 };

const NOTHING_KNOWN: Interval = { mean: 0, lower: 0, upper: Number.POSITIVE_INFINITY };

type Left = { readonly strength: Fraction; readonly stiffness: Fraction };
type Interval = { readonly mean: number; readonly lower: number; readonly upper: number };

function check(
  { factor, standardUncertainty, degreesOfFreedom = 0 }: Localisation,
  asked: WindowAsked,
  confidence: number,
): void {
  if (!(Number.isFinite(factor) && factor >= 1)) {
    throw new CalculationError('localisation.factor', 'is deepest over mean attack and cannot be less than 1');
  }
  requireNonNegative(standardUncertainty, 'localisation.standardUncertainty');
  requireNonNegative(degreesOfFreedom, 'localisation.degreesOfFreedom');
  requirePositive(asked.holdWeeks, 'holdWeeks');
  for (const name of ['strengthLeft', 'stiffnessLeft'] as const) {
    if (!(asked[name] > 0 && asked[name] <= 1)) throw new CalculationError(name, 'must lie above 0, and be at most 1');
  }
  if (asked.goneByWeeks !== undefined && !(asked.goneByWeeks > asked.holdWeeks)) {
    throw new CalculationError('goneByWeeks', 'must be more than the weeks for which it has to hold');
  }
  if (!(confidence > 0.5 && confidence < 1)) throw new CalculationError('confidence', 'must lie between 0.5 and 1');
}

/** Whether an end of the interval keeps both limits; undefined where nothing is known. */
const isLeft = (left: Left | undefined, asked: WindowAsked, end: 'lower' | 'upper'): boolean | undefined =>
  left && left.strength[end] >= asked.strengthLeft && left.stiffness[end] >= asked.stiffnessLeft;

function holdOutcome(
  asked: WindowAsked,
  atEnd: Left | undefined,
  shown: Left,
  leftAt: (weeks: number, until?: number) => Left | undefined,
  longestWeeks: number,
): WindowOutcome {
  // What was measured on the part itself needs no loss of coupons.
  if (isLeft(shown, asked, 'upper') === false) return 'outside';
  if (atEnd) {
    if (isLeft(atEnd, asked, 'lower')) return 'inside';
    return isLeft(atEnd, asked, 'upper') ? 'cannot be decided' : 'outside';
  }
  const longest = leftAt(longestWeeks, Math.max(longestWeeks, asked.holdWeeks));
  // A longer exposure than asked that kept the limits kept them before; a shorter one that failed has failed for good.
  if (longestWeeks >= asked.holdWeeks) return isLeft(longest, asked, 'lower') ? 'inside' : 'cannot be decided';
  return isLeft(longest, asked, 'upper') === false ? 'outside' : 'cannot be decided';
}

function goneOutcome(
  weeks: number,
  section: LoadSection,
  depthAt: (weeks: number) => Interval | undefined,
  longestWeeks: number,
): WindowOutcome {
  const depth = depthAt(Math.min(weeks, longestWeeks));
  if (depth === undefined) return 'cannot be decided';
  const { stands, gone } = endOf(section);
  if (depth.lower >= gone) return 'inside';
  return longestWeeks >= weeks && depth.upper < stands ? 'outside' : 'cannot be decided';
}

/** The last whole week up to which it is known to hold. */
function knownWeeks(loss: LossOverTime, holds: (weeks: number) => boolean, longestWeeks: number): number {
  const last = Math.floor(longestWeeks + 1e-9);
  if (loss.durations.length === 1) return holds(longestWeeks) ? last : 0;
  let [low, high] = [0, last];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (holds(middle)) low = middle;
    else high = middle - 1;
  }
  return low;
}

function worst(hold: WindowOutcome, gone: WindowOutcome | undefined): WindowOutcome {
  if (hold === 'outside' || gone === 'outside') return 'outside';
  return hold === 'inside' && (gone === undefined || gone === 'inside') ? 'inside' : 'cannot be decided';
}

/** Share of the variance of the deepest attack, which is loss times factor. */
function driverOf(loss: LossAt, { factor, standardUncertainty }: Localisation) {
  const parts: readonly (readonly [WindowDriver, number])[] = [
    ['curve', factor * loss.curveUm],
    ['specimens', factor * loss.specimensUm],
    ['measuring', factor * loss.measuringUm],
    ['localisation', loss.depthUm * standardUncertainty],
  ];
  const total = parts.reduce((sum, [, part]) => sum + part ** 2, 0);
  if (total === 0) return {};
  const [source, part] = parts.reduce((most, one) => (one[1] > most[1] ? one : most));
  return { driver: { source, share: part ** 2 / total } };
}

/**
 * Half the width of the interval of the loss of one more specimen: each source by its own quantile, that of Student's t
 * where it was estimated from few, and their squares added. This is never narrower than one quantile for all with the
 * degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, G.4), and a further source never makes it narrower.
 */
const halfWidth = (
  { curveUm, specimensUm, measuringUm }: LossAt,
  degreesOfFreedom: number,
  confidence: number,
): number =>
  Math.hypot(
    expanded({ standardUncertainty: Math.hypot(curveUm, specimensUm), degreesOfFreedom }, confidence),
    expanded({ standardUncertainty: measuringUm }, confidence),
  );

/** A standard uncertainty times its quantile; without bound where nothing is known of it. */
function expanded({ standardUncertainty, degreesOfFreedom }: Omit<Localisation, 'factor'>, confidence: number): number {
  if (degreesOfFreedom === undefined) return normalQuantile(confidence) * standardUncertainty;
  return degreesOfFreedom > 0
    ? tQuantile(confidence, degreesOfFreedom) * standardUncertainty
    : Number.POSITIVE_INFINITY;
}

/** The deepest attack, loss times factor, where each is known to half a width: the squares of all that either changes. */
function deepest(depthUm: number, depthHalf: number, factor: number, factorHalf: number): Interval {
  const mean = depthUm * factor;
  const isKnown = Number.isFinite(depthHalf) && Number.isFinite(factorHalf);
  const half = isKnown
    ? Math.hypot(factor * depthHalf, depthUm * factorHalf, depthHalf * factorHalf)
    : Number.POSITIVE_INFINITY;
  return { mean, lower: Math.max(0, mean - half), upper: mean + half };
}

/** The deepest that sections of the part itself, measured by so many weeks, show, in µm; 0 before any, and for a table. */
export function measuredUm(section: LoadSection, measured: readonly MeasuredSection[], until: number): number {
  if (section.shape === 'table') return 0;
  const depths = measured.flatMap(({ weeks, sizeMm }) => (weeks <= until ? 500 * (section.sizeMm - sizeMm) : []));
  return Math.max(0, ...depths);
}

const noLess = ({ mean, lower, upper }: Interval, leastUm: number): Interval => ({
  mean: Math.max(mean, leastUm),
  lower: Math.max(lower, leastUm),
  upper: Math.max(upper, leastUm),
});

/** What is left falls with the depth all the way: each end of the depth gives one of what is left. */
function fractions(section: LoadSection, depth: Interval): Left {
  const mean = sectionLeft(section, depth.mean);
  const most = sectionLeft(section, depth.lower, 'last row');
  const least = sectionLeft(section, depth.upper);
  const of = (name: keyof Left): Fraction => ({ mean: mean[name], lower: least[name], upper: most[name] });
  return { strength: of('strength'), stiffness: of('stiffness') };
}
