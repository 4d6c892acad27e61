import { countingRate, hoursOf } from '../degradation/exposure-rates.js';
import { type LossOverTime, lossOverTime, type SpecimenLoss } from '../degradation/loss-over-time.js';
import type { LoadSection } from '../degradation/section-left.js';
import {
  type Localisation,
  type MeasuredSection,
  supportWindow,
  type WindowAnswer,
  type WindowAsked,
} from '../degradation/support-window.js';
import { figuresOf, type LoadSection as StatedSection } from '../kinds/cases/load-section.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import type { Simulation } from '../kinds/degradation/simulation.js';
import { type Apart, apart } from './exposures.js';

const HOURS_PER_WEEK = 168;

/** Each end of an interval of what is left, one-sided. */
export const WINDOW_CONFIDENCE = 0.95;

/** Why exposures say nothing of a loss. */
export type NoLoss =
  | { readonly why: 'control' | 'no uncertainty' | 'no bound' | 'no localisation' }
  | { readonly why: 'apart'; readonly what: Apart; readonly a: string; readonly b: string };

/** What a zone is held against, and what is known beside its exposures. */
export interface HeldAgainst {
  readonly section: LoadSection;
  readonly asked: WindowAsked;
  /** Exposures of which the control of their bath lay outside its range. */
  readonly off: ReadonlySet<Exposure>;
  readonly localisation: Localisation | undefined;
  readonly measured: readonly MeasuredSection[];
  /** Closure in which a specimen was built. */
  readonly buildOf: (specimen: string) => string | undefined;
  /** One-sided, such as 0.95. */
  readonly confidence?: number;
  /** By which losses are simulated where first order is not enough; first order alone without one. */
  readonly simulation: Simulation | undefined;
}

/** Of each exposure what was lost, the loss against time, and whether the window is held; or why nothing is computed. */
export interface HeldWindow {
  readonly losses: readonly SpecimenLoss[];
  readonly loss: LossOverTime | undefined;
  readonly answer: WindowAnswer | NoLoss;
}

/**
 * What exposures say of one zone against the window that it has to hold for: the rule for lots and for studies of a design.
 * @param own exposures that speak for the zone, each with a rate that counts, and at least one.
 */
export function windowByExposures(
  own: readonly Exposure[],
  { section, asked, off, localisation, measured, buildOf, confidence = WINDOW_CONFIDENCE, simulation }: HeldAgainst,
): HeldWindow {
  const none = (answer: NoLoss): HeldWindow => ({ losses: [], loss: undefined, answer });
  if (own.some((one) => off.has(one))) return none({ why: 'control' });
  const [differing] = apart(own, true);
  if (differing) return none({ why: 'apart', what: differing.what, a: differing.a, b: differing.b });
  if (own.some((one) => countingRate(one)?.depthUncertaintyUm === undefined)) return none({ why: 'no uncertainty' });
  if (localisation === undefined) return none({ why: 'no localisation' });
  const losses = own.map((one) => lossOf(one, buildOf, simulation, confidence));
  // A loss divided by what may as well be none tells nothing.
  if (losses.some((one) => !Number.isFinite(one.standardUncertaintyUm))) return none({ why: 'no bound' });
  const loss = lossOverTime(losses);
  const answer = supportWindow(loss, section, localisation, asked, confidence, { measured, simulation });
  return { losses, loss, answer };
}

function lossOf(
  exposure: Exposure,
  buildOf: HeldAgainst['buildOf'],
  simulation: Simulation | undefined,
  confidence: number,
): SpecimenLoss {
  const { depthUm = 0, depthUncertaintyUm = 0 } = countingRate(exposure, simulation, confidence)!;
  return {
    ...{ hours: hoursOf(exposure)!, depthUm, standardUncertaintyUm: depthUncertaintyUm },
    build: buildOf(exposure.specimen),
  };
}

/**
 * Deepest over mean attack of the exposures that tell both, with what one more specimen spreads about their mean; else
 * what is stated. Loss is never taken to be uniform because nobody looked.
 * @param stated as decimal text, by family or study.
 */
export function localisationOf(exposures: readonly Exposure[], stated: string | undefined): Localisation | undefined {
  const factors = exposures.flatMap((one) => {
    const depthUm = countingRate(one)?.depthUm ?? 0;
    return one.deepestUm === undefined || depthUm <= 0 ? [] : [Math.max(1, Number(one.deepestUm) / depthUm)];
  });
  const n = factors.length;
  if (n === 0) return stated === undefined ? undefined : { factor: Number(stated), standardUncertainty: 0 };
  const factor = factors.reduce((sum, one) => sum + one, 0) / n;
  const squares = factors.reduce((sum, one) => sum + (one - factor) ** 2, 0);
  const spread = n > 1 ? Math.sqrt(squares / (n - 1)) : 0;
  return { factor, standardUncertainty: spread * Math.sqrt(1 + 1 / n), degreesOfFreedom: n - 1 };
}

/** The smallest sections that were measured on the implant itself after it had lain in a medium. */
export const measuredOn = (itself: readonly Exposure[]): MeasuredSection[] =>
  itself.flatMap((one) => {
    const hours = hoursOf(one);
    if (hours === undefined || one.minimumSectionMm === undefined) return [];
    return [{ weeks: hours / HOURS_PER_WEEK, sizeMm: Number(one.minimumSectionMm) }];
  });

export function sectionOf(section: StatedSection): LoadSection;
export function sectionOf(section: StatedSection | undefined): LoadSection | undefined;
export function sectionOf(section: StatedSection | undefined): LoadSection | undefined {
  if (section === undefined) return undefined;
  if (section.shape === 'table') return { shape: 'table', rows: section.rows.map(figuresOf) };
  return { shape: section.shape, sizeMm: Number(section.sizeMm) };
}
