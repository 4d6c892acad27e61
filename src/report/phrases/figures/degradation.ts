import { tradeUnit } from '../../../dossier/unit-text.js';
/** Words of the picture of what the rates would leave of the section, and of what it takes for granted. */
export const STRENGTH_LEFT = {
  curve: (rate: string, mmPerYear: number) => `${rate} rate of the bench, ${mmPerYear} mm/year`,
  title: (shape: string, sizeMm: string, rate: string) =>
    `Bending strength of a ${shape} section of ${sizeMm} mm, computed from ${rate.toLowerCase()}`,
  alt: (weeks: number, windowWeeks: number, least: string, most: string, asked: string) =>
    `Computed bending strength over ${weeks} weeks; at week ${windowWeeks} between ${least} and ${most} are left, at least ${asked} are asked for.`,
  caption:
    'Computed, not measured: what would be left of the section if the rate of the bench went on unchanged. The hatched field is what must not be reached inside the healing window.',
  percent: (percent: number) => `${percent} %`,
  noConditions: 'not stated by the method',
};

export const STRENGTH_ASSUMPTIONS = {
  rate: 'The metal goes at the rate of the bench from the first day and always alike; the body does not work like the bench.',
  uniform: 'Loss is uniform: a pit that goes deeper than the mean takes more than is shown.',
  localised: (factor: string) =>
    `The deepest attack is ${factor} times the mean, as the family states, and acts as if it were everywhere.`,
  plate: 'A plate loses from both faces and keeps its width; bending strength goes with the square of what is left.',
  round: 'A round core loses all around; bending strength goes with the third power of what is left.',
  strong: 'Metal that is left is as strong as on the first day.',
};

/** Why nothing can be computed. */
export const NO_STRENGTH = {
  noSupport: 'The family states no healing window and no load-bearing section.',
  noCharacteristic: (characteristic: string) =>
    `The specification has no characteristic "${characteristic}", which the family names.`,
  notMeasured: (title: string) => `${title} was not measured.`,
  onlyABound: 'A rate was reported only as below or above a value, which is not enough to compute with.',
  noRate: (ucum: string) => `${tradeUnit(ucum)} is no loss of depth per time.`,
  belowZero: 'A rate below zero was reported.',
};
