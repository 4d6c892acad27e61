import { CalculationError } from '../base/errors.js';
import { Random } from '../base/random.js';
import { normalQuantile } from '../statistics/distributions.js';
import { requireFinite, requireNonNegative, requirePositive } from '../statistics/guards.js';
import type { LossAt, LossOverTime } from './loss-over-time.js';
import { POWERS } from './residual-section.js';

/** The section that carries the load: a plate or a round core by its size, or what is left of any section by depth. */
export type LoadSection =
  | { readonly shape: 'plate' | 'round'; readonly sizeMm: number }
  | { readonly shape: 'table'; readonly rows: readonly SectionRow[] };

/** A section after a loss of so much on every face; the first row is that before any loss. */
export interface SectionRow {
  readonly depthUm: number;
  readonly areaMm2: number;
  readonly sectionModulusMm3: number;
  readonly secondMomentMm4: number;
}

export interface SectionLeft {
  /** Section modulus, as a fraction of the start. */
  readonly strength: number;
  /** Second moment of area, as a fraction of the start. */
  readonly stiffness: number;
  /** Area, as a fraction of the start. */
  readonly area: number;
}

/** Deepest over mean attack of specimens, with the standard deviation of one of them; 1 and 0 for uniform loss. */
export interface Localisation {
  readonly factor: number;
  readonly standardUncertainty: number;
}

export interface WindowAsked {
  readonly holdWeeks: number;
  readonly strengthLeft: number;
  readonly stiffnessLeft: number;
  readonly goneByWeeks?: number | undefined;
}

export type WindowOutcome = 'inside' | 'outside' | 'cannot be decided';

/** A fraction left with its interval at the confidence, one-sided at each end. */
export interface Fraction {
  readonly mean: number;
  readonly lower: number;
  readonly upper: number;
  readonly by: 'first order' | 'simulation';
}

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
  readonly longestWeeks: number;
}

const HOURS_PER_WEEK = 168;
const DRAWS = 2000;
const SEED = 0x5eed;
/** Ends of the interval that differ by more than this are taken from the simulation (JCGM 101:2008, 8). */
const TOLERANCE = 0.005;

/**
 * What is left of a section after a depth on every face.
 * @throws CalculationError for a size not above zero, or a table that does not fall from its first row on.
 */
export function sectionLeft(section: LoadSection, depthUm: number): SectionLeft {
  if (section.shape === 'table') return fromTable(section.rows, depthUm);
  requirePositive(section.sizeMm, 'section.sizeMm');
  const ratio = Math.max(0, 1 - (2 * depthUm) / (1000 * section.sizeMm));
  const { tension, strength, stiffness } = POWERS[section.shape];
  return { area: ratio ** tension, strength: ratio ** strength, stiffness: ratio ** stiffness };
}

/**
 * Whether one zone holds for the weeks that a case asks, and is gone by those that it states, with the loss of the
 * coupons that speak for it. Inside: what is left stays above the limits with its whole interval; outside: it is known
 * to fall below. A loss never comes back: what holds at a later time held before, and what failed stays failed.
 * @param confidence one-sided, such as 0.95.
 * @throws CalculationError for what is out of range.
 */
export function supportWindow(
  loss: LossOverTime,
  section: LoadSection,
  localisation: Localisation,
  asked: WindowAsked,
  confidence: number,
): WindowAnswer {
  check(localisation, asked, confidence);
  const longestWeeks = loss.longestHours / HOURS_PER_WEEK;
  const leftAt = (weeks: number) => {
    const found = loss.at(weeks * HOURS_PER_WEEK);
    return found && fractions(section, found, localisation, confidence);
  };
  const holds = (weeks: number) => weeks === 0 || isLeft(leftAt(weeks), asked, 'lower') === true;
  const atEnd = leftAt(asked.holdWeeks);
  const hold = holdOutcome(asked, atEnd, leftAt, longestWeeks);
  const gone = asked.goneByWeeks === undefined ? undefined : goneOutcome(asked.goneByWeeks, leftAt, longestWeeks);
  const known = knownWeeks(loss, holds, longestWeeks);
  const then = loss.at(asked.holdWeeks * HOURS_PER_WEEK);
  return {
    hold,
    ...(gone === undefined ? {} : { gone }),
    outcome: worst(hold, gone),
    ...(atEnd ? { strength: atEnd.strength, stiffness: atEnd.stiffness } : {}),
    marginWeeks: known - asked.holdWeeks,
    isAtLeast: known === Math.floor(longestWeeks + 1e-9),
    ...(then ? driverOf(then, localisation) : {}),
    longestWeeks,
  };
}

type Left = { readonly strength: Fraction; readonly stiffness: Fraction; readonly area: Fraction };

function check({ factor, standardUncertainty }: Localisation, asked: WindowAsked, confidence: number): void {
  if (!(Number.isFinite(factor) && factor >= 1)) {
    throw new CalculationError('localisation.factor', 'is deepest over mean attack and cannot be less than 1');
  }
  requireNonNegative(standardUncertainty, 'localisation.standardUncertainty');
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
  leftAt: (weeks: number) => Left | undefined,
  longestWeeks: number,
): WindowOutcome {
  if (atEnd) {
    if (isLeft(atEnd, asked, 'lower')) return 'inside';
    return isLeft(atEnd, asked, 'upper') ? 'cannot be decided' : 'outside';
  }
  const longest = leftAt(longestWeeks);
  // A longer exposure than asked that kept the limits kept them before; a shorter one that failed has failed for good.
  if (longestWeeks >= asked.holdWeeks) return isLeft(longest, asked, 'lower') ? 'inside' : 'cannot be decided';
  return isLeft(longest, asked, 'upper') === false ? 'outside' : 'cannot be decided';
}

function goneOutcome(weeks: number, leftAt: (weeks: number) => Left | undefined, longestWeeks: number): WindowOutcome {
  const left = leftAt(Math.min(weeks, longestWeeks));
  if (left === undefined) return 'cannot be decided';
  if (left.area.upper <= 0) return 'inside';
  return longestWeeks >= weeks && left.area.lower > 0 ? 'outside' : 'cannot be decided';
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

let kept: readonly (readonly [number, number])[] | undefined;

/** Draws of two normal quantities, the same for every question: what differs is what they are applied to. */
function draws(): readonly (readonly [number, number])[] {
  if (kept) return kept;
  const random = new Random(SEED);
  const normal = () => normalQuantile(Math.min(Math.max(random.next(), 1e-9), 1 - 1e-9));
  kept = Array.from({ length: DRAWS }, () => [normal(), normal()] as const);
  return kept;
}

/** First order where it agrees with the simulation, else the simulation: a depth is no negative number, and a power bends. */
function fractions(
  section: LoadSection,
  loss: LossAt,
  { factor, standardUncertainty }: Localisation,
  confidence: number,
): Left {
  const z = normalQuantile(confidence);
  const { depthUm, standardUncertaintyUm } = loss;
  const left = (mean: number, more: number) => sectionLeft(section, Math.max(0, mean) * Math.max(1, more));
  const at = left(depthUm, factor);
  const deepUm = depthUm * factor;
  const uncertaintyUm = Math.hypot(factor * standardUncertaintyUm, depthUm * standardUncertainty);
  const step = Math.max(deepUm * 1e-4, 1e-3);
  const [more, less] = [sectionLeft(section, deepUm + step), sectionLeft(section, Math.max(0, deepUm - step))];
  const width = deepUm + step - Math.max(0, deepUm - step);
  const drawn =
    uncertaintyUm === 0
      ? []
      : draws().map(([a, b]) => left(depthUm + a * standardUncertaintyUm, factor + b * standardUncertainty));
  const index = Math.floor((1 - confidence) * DRAWS);
  const of = (name: keyof SectionLeft): Fraction => {
    const half = (z * uncertaintyUm * Math.abs(more[name] - less[name])) / width;
    const first = { lower: Math.max(0, at[name] - half), upper: Math.min(1, at[name] + half) };
    if (drawn.length === 0) return { mean: at[name], ...first, by: 'first order' };
    const values = Float64Array.from(drawn, (one) => one[name]).sort();
    const simulated = { lower: values[index]!, upper: values[DRAWS - 1 - index]! };
    const agrees = (['lower', 'upper'] as const).every((end) => Math.abs(first[end] - simulated[end]) <= TOLERANCE);
    return agrees
      ? { mean: at[name], ...first, by: 'first order' }
      : {
          mean: at[name],
          lower: Math.min(simulated.lower, at[name]),
          upper: Math.max(simulated.upper, at[name]),
          by: 'simulation',
        };
  };
  return { strength: of('strength'), stiffness: of('stiffness'), area: of('area') };
}

function fromTable(rows: readonly SectionRow[], depthUm: number): SectionLeft {
  const [first] = rows;
  if (!first || rows.length < 2) throw new CalculationError('section.rows', 'needs at least two rows');
  if (first.depthUm !== 0) throw new CalculationError('section.rows.0.depthUm', 'must be 0: the section at the start');
  rows.forEach((row, index) => {
    for (const name of ['depthUm', 'areaMm2', 'sectionModulusMm3', 'secondMomentMm4'] as const) {
      requireFinite(row[name], `section.rows.${index}.${name}`);
      requireNonNegative(row[name], `section.rows.${index}.${name}`);
    }
    const before = rows[index - 1];
    if (before && !(row.depthUm > before.depthUm && NAMES.every((name) => row[name] <= before[name]))) {
      throw new CalculationError(`section.rows.${index}`, 'must be deeper than the row before, with no more left');
    }
  });
  const next = rows.findIndex((row) => row.depthUm >= depthUm);
  // Beyond the last row nothing is known but that no more is left than there: none is the safe answer.
  if (next === -1) return { area: 0, strength: 0, stiffness: 0 };
  const [after, before] = [rows[next]!, rows[Math.max(0, next - 1)]!];
  const part = after === before ? 0 : (depthUm - before.depthUm) / (after.depthUm - before.depthUm);
  const of = (name: (typeof NAMES)[number]) => (before[name] + part * (after[name] - before[name])) / first[name];
  return { area: of('areaMm2'), strength: of('sectionModulusMm3'), stiffness: of('secondMomentMm4') };
}

const NAMES = ['areaMm2', 'sectionModulusMm3', 'secondMomentMm4'] as const;
