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

const LAWS = { linear: 'a straight line', power: 'a power of time', saturating: 'a loss that slows down to an end' };
const WHY = {
  'one duration': 'One duration: no law, and nothing at other times.',
  'two durations': 'two durations allow no other',
  'least criterion': 'it explains the values best for its parameters (corrected Akaike criterion)',
  'fewest parameters': 'no law with more parameters explains the values clearly better (corrected Akaike criterion)',
  'no law fits': 'No law fits: straight from mean to mean.',
};

/** Words of the picture of loss against time. */
export const LOSS_FIGURE = {
  title: (zoneClass: string, coupons: readonly string[], serial: string | undefined) =>
    `Loss against time of ${coupons.join(', ')}, for zones of class ${zoneClass}${serial === undefined ? '' : ` of ${serial}`}`,
  law: (law: keyof typeof LAWS | undefined, why: keyof typeof WHY) =>
    law === undefined ? WHY[why] : `The curve follows ${LAWS[law]}: ${WHY[why]}.`,
  factor: (factor: number) => `Deepest attack: ${factor} times the mean loss.`,
  unread:
    'A section was measured on the implant itself. It is not drawn: the design gives a table of sections, in which it has no depth.',
  limit: (names: readonly string[], depthUm: number, weeks: number) =>
    `${names.slice(0, 3).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more` : ''}: at most ${depthUm} µm for ${weeks} weeks`,
  more: (count: number) => `${count} further windows stand in the table.`,
  alt: (zoneClass: string, depthUm: number, weeks: number) =>
    `Deepest attack over the weeks in the medium, for zones of class ${zoneClass}: ${depthUm} µm after ${weeks} weeks, where the exposures end.`,
  caption:
    'A zone holds where the whole shaded band stays below its line up to the upright end of it. Nothing is drawn beyond the longest exposure. Rates of the bench do not predict the body.',
};

/** Words of the picture of the zones of an implant. */
export const ZONES_FIGURE = {
  title: (serials: readonly string[]) => `Zones of ${serials.join(', ')}: strength left at the end of the window`,
  alt: (serials: readonly string[], heads: readonly string[]) => `${serials.join(', ')}: ${heads.join('; ')}.`,
  caption:
    'Shaded from the lower to the upper end of what is left, the dark stroke its middle; the upright line is what has to be left. Hatched: not known. Rates of the bench do not predict the body.',
  head: (zone: string, window: string) => `${zone}, ${window}`,
  interval: (step: string, layers: number) => `${step} every ${layers} ${layers === 1 ? 'layer' : 'layers'}`,
};
