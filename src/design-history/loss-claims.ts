import { uncontrolled } from '../assessment/exposures.js';
import {
  localisationOf,
  measuredOn,
  sectionOf,
  WINDOW_CONFIDENCE,
  windowByExposures,
} from '../assessment/window-by-exposures.js';
import { countingRate } from '../degradation/exposure-rates.js';
import { deepestAt, type Localisation, type WindowAnswer } from '../degradation/support-window.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import type { DesignStudy } from '../kinds/design-history/design-study.js';
import { couponSpeaks, type ExposedPart } from './coupon-speaks.js';
import type { DesignIndex } from './design-index.js';
import { isTested, lotsOf } from './studies.js';

/** Why a loss decides nothing. */
export const NO_LOSS = [
  'no exposures',
  'coupons that no study compared',
  'control outside its range',
  'exposures that do not stand together',
  'no uncertainty of the loss',
  'nobody measured the deepest attack',
  'loss not known well enough',
] as const;
export type NoLossWhy = (typeof NO_LOSS)[number];

/** What one exposure tells, as a stranger needs it to come to the same curve. */
export interface StudiedLoss {
  readonly lot: string;
  readonly specimen: string;
  readonly piece: string;
  readonly exposure: string;
  readonly hours: number;
  readonly depthUm: number;
  readonly standardUncertaintyUm: number;
  readonly deepestUm: string | null;
  readonly build: string;
}

export interface DecidedLoss {
  readonly answer: 'holds' | 'does not hold' | 'cannot be decided';
  readonly why: NoLossWhy | 'another number of values' | null;
  readonly numbers: Readonly<Record<string, number>>;
  /** Empty where no curve was drawn. */
  readonly losses: readonly StudiedLoss[];
}

interface Found extends ExposedPart {
  readonly body: Exposure;
}

/** Exposures of the class that a study claims, of what it tested, and with a rate that counts. */
export const exposuresOf = (design: DesignIndex, study: DesignStudy): Found[] =>
  exposedOf(design, study).filter(({ body }) => countingRate(body) !== undefined);

/** The same with those that tell no rate: a section may have been measured on them all the same. */
function exposedOf(design: DesignIndex, study: DesignStudy): Found[] {
  const { window } = study.criterion;
  return lotsOf(design, study).flatMap((lot) => {
    const exposed = design.facts.lots.get(lot)?.exposed;
    const parts = new Map(exposed?.parts.map((one) => [one.part, one]));
    return (exposed?.exposures ?? [])
      .filter(({ body }) => body.zoneClass === window?.zoneClass && isTested(design, study, lot, body.specimen))
      .map(({ body }) => ({ lot, body, part: parts.get(body.specimen) }));
  });
}

/**
 * Whether zones of a class hold for the weeks claimed, by the rule by which zones of a lot are held against a window. A coupon
 * speaks for them only by an equivalence study that compared class and characteristic, an implant speaks for itself.
 */
export function byLoss(design: DesignIndex, study: DesignStudy): DecidedLoss {
  const { criterion, n } = study;
  const { window, value, characteristic, confidence: stated } = criterion;
  const undecided = (why: DecidedLoss['why'], numbers: DecidedLoss['numbers'] = {}): DecidedLoss => ({
    ...{ answer: 'cannot be decided', why, numbers, losses: [] },
  });
  const own = exposuresOf(design, study);
  if (own.length === 0 || window === undefined) return undecided('no exposures');
  // Whatever is missing may have spoken against it, so that nothing is decided without it.
  if (own.length !== n) return undecided('another number of values', { tested: n, onRecord: own.length });
  const speaks = (one: Found) =>
    one.body.specimenIs === 'implant' || couponSpeaks(design, one, window.zoneClass, characteristic);
  if (!own.every(speaks)) return undecided('coupons that no study compared');
  const bodies = own.map(({ body }) => body);
  const implants = exposedOf(design, study).flatMap(({ body }) => (body.specimenIs === 'implant' ? [body] : []));
  const { simulation } = design.facts;
  const { localisationFactor, goneByWeeks } = window;
  const holdWeeks = Number(value);
  const confidence = stated === undefined ? WINDOW_CONFIDENCE : Number(stated);
  const localisation = localisationOf(bodies, localisationFactor);
  const { losses, loss, answer } = windowByExposures(bodies, {
    section: sectionOf(window.section),
    asked: {
      ...{ holdWeeks, goneByWeeks },
      strengthLeft: Number(window.strengthLeft),
      stiffnessLeft: Number(window.stiffnessLeft),
    },
    off: uncontrolled(bathsOf(design, study)),
    localisation,
    measured: measuredOn(implants),
    buildOf: (specimen) => own.find(({ body }) => body.specimen === specimen)?.part?.build,
    confidence,
    simulation,
  });
  if ('why' in answer) return undecided(WORDED[answer.why], { n });
  const numbers = {
    ...{ n, holdWeeks, confidence, ...numbersOf(answer, localisation!) },
    ...goneNumbers(goneByWeeks, (weeks) => deepestAt(loss!, UNIFORM, confidence, weeks, simulation)),
  };
  return {
    answer: ANSWERS[answer.outcome],
    why: answer.outcome === 'cannot be decided' ? 'loss not known well enough' : null,
    numbers,
    losses: own.map(({ lot, body, part }, index) => ({
      ...{ lot, specimen: body.specimen, piece: body.piece ?? '', exposure: body.exposure },
      ...{ hours: losses[index]!.hours, depthUm: losses[index]!.depthUm },
      standardUncertaintyUm: losses[index]!.standardUncertaintyUm,
      ...{ deepestUm: body.deepestUm ?? null, build: part?.build ?? '' },
    })),
  };
}

const ANSWERS = { inside: 'holds', outside: 'does not hold', 'cannot be decided': 'cannot be decided' } as const;

const WORDED = {
  control: 'control outside its range',
  apart: 'exposures that do not stand together',
  'no uncertainty': 'no uncertainty of the loss',
  'no bound': 'loss not known well enough',
  'no localisation': 'nobody measured the deepest attack',
} as const satisfies Readonly<Record<string, NoLossWhy>>;

/** Nothing is gone by its pits. */
const UNIFORM: Localisation = { factor: 1, standardUncertainty: 0 };

/** Every exposure of its lots: controls stand beside other specimens too. */
const bathsOf = (design: DesignIndex, study: DesignStudy): Exposure[] =>
  lotsOf(design, study).flatMap((lot) =>
    (design.facts.lots.get(lot)?.exposed?.exposures ?? []).map(({ body }) => body),
  );

function numbersOf(answer: WindowAnswer, { factor, standardUncertainty }: Localisation): DecidedLoss['numbers'] {
  const { strength, stiffness, marginWeeks, longestWeeks } = answer;
  return {
    longestWeeks,
    ...{ localisation: factor, localisationUncertainty: standardUncertainty },
    ...(strength === undefined
      ? {}
      : { strengthMean: strength.mean, strengthLower: strength.lower, strengthUpper: strength.upper }),
    ...(stiffness === undefined
      ? {}
      : { stiffnessMean: stiffness.mean, stiffnessLower: stiffness.lower, stiffnessUpper: stiffness.upper }),
    marginWeeks,
  };
}

function goneNumbers(
  weeks: number | undefined,
  depthAt: (weeks: number) => { readonly lower: number; readonly upper: number } | undefined,
): DecidedLoss['numbers'] {
  const depth = weeks === undefined ? undefined : depthAt(weeks);
  return {
    ...(weeks === undefined ? {} : { goneByWeeks: weeks }),
    ...(depth === undefined ? {} : { goneLowerUm: depth.lower }),
    ...(depth && Number.isFinite(depth.upper) ? { goneUpperUm: depth.upper } : {}),
  };
}
