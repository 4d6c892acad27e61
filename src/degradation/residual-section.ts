import { CalculationError } from '../base/errors.js';
import { requireNonNegative, requirePositive } from '../statistics/guards.js';
import { DAYS_PER_YEAR } from './physical-constants.js';

export interface SectionLoss {
  readonly shape: 'plate' | 'round';
  /** Thickness of the plate, or diameter of the round core. */
  readonly sizeMm: number;
  readonly rateMmPerYear: number;
  readonly weeks: number;
  /** Deepest attack over mean attack, 1 or more. */
  readonly localisationFactor?: number | undefined;
}

export interface ResidualSection {
  readonly depthMm: number;
  readonly sizeLeftMm: number;
  /** Bending strength left, as a fraction of the start: section modulus. */
  readonly strengthLeft: number;
  /** Bending stiffness left, as a fraction of the start: second moment of area. */
  readonly stiffnessLeft: number;
  /** Tensile strength left, as a fraction of the start: area. */
  readonly tensionLeft: number;
}

/** Powers of (size left / size) that area, section modulus and second moment of area follow. */
export const POWERS = {
  plate: { tension: 1, strength: 2, stiffness: 3 },
  round: { tension: 2, strength: 3, stiffness: 4 },
} as const;

/**
 * What is left of a section after uniform loss from both faces: depth d = rate × localisation factor × time on each
 * face, size left = size − 2d, never below zero. Weeks count 7 days, the year 365. A plate keeps its width.
 * Source: beam theory (area, section modulus and second moment of rectangle and circle); uniform loss is assumed.
 * @throws CalculationError for a size not above zero, negative rate or time, or a localisation factor below 1.
 */
export function residualSection(loss: SectionLoss): ResidualSection {
  const { shape, sizeMm, rateMmPerYear, weeks, localisationFactor = 1 } = loss;
  requirePositive(sizeMm, 'sizeMm');
  requireNonNegative(rateMmPerYear, 'rateMmPerYear');
  requireNonNegative(weeks, 'weeks');
  if (!(Number.isFinite(localisationFactor) && localisationFactor >= 1)) {
    throw new CalculationError('localisationFactor', 'is deepest over mean attack and cannot be less than 1');
  }
  const depthMm = (rateMmPerYear * localisationFactor * weeks * 7) / DAYS_PER_YEAR;
  const sizeLeftMm = Math.max(0, sizeMm - 2 * depthMm);
  const ratio = sizeLeftMm / sizeMm;
  const powers = POWERS[shape];
  return {
    depthMm,
    sizeLeftMm,
    strengthLeft: ratio ** powers.strength,
    stiffnessLeft: ratio ** powers.stiffness,
    tensionLeft: ratio ** powers.tension,
  };
}
