import { ABSENT } from './absent.js';
import { HEADS } from './heads.js';

/** Words of the section "degradation" of the lot record. */
export const DEGRADATION = {
  readWithCare: HEADS.readWithCare,
  noRate: 'The specification asks for no rate of degradation.',
  left: 'What the rates would leave of the section',
  nothingIsComputed: (why: string) => `${why} Nothing is computed.`,
  testConditions: (title: string) => `${title}: test conditions`,
  method: 'Method',
  methodOf: (title: string, method: string, revision: number, standard: string) =>
    `${title} (${method} revision ${revision}); standard: ${standard}`,
  noneStated: ABSENT.noneStated,
  conditions: 'Conditions',
  ofExposures: 'those of each exposure, which stand with it',
  values: 'Values',
  valuesAt: 'in the section on inspection and test',
  section: 'Section',
  sectionOf: (shape: string, sizeMm: string) => `${shape}, ${sizeMm} mm`,
  healingWindow: 'Healing window',
  windowOf: (weeks: number, strengthLeft: string) =>
    `${weeks} weeks; at its end at least ${strengthLeft} of the bending strength`,
  basis: 'Basis',
  depthOfLoss: 'Depth of loss',
  depthOf: 'rate × localisation factor × weeks × 7 / 365, on each face',
  atWeek: (weeks: number) => `At week ${weeks}, computed`,
  benchRate: 'Rate of the bench',
  rate: 'Rate',
  sizeLeft: 'Size left',
  bendingStrengthLeft: 'Bending strength left',
  againstTheWindow: 'Against the window',
  holds: 'stays above the limit',
  doesNotHold: 'falls below the limit',
  assumptions: 'What this takes for granted:',
};

/** Words of the support windows, zone by zone. */
export const WINDOWS = {
  title: 'Support windows, zone by zone',
  caption: 'What the exposures of the coupons leave of each zone, against what it has to hold for',
  implantZone: 'Implant, zone',
  window: 'Has to hold',
  strength: 'Strength left',
  stiffness: 'Stiffness left',
  outcome: 'Outcome',
  margin: 'Margin',
  coupons: 'Coupons',
  windowOf: (
    weeks: number,
    strength: string,
    stiffness: string | undefined,
    goneBy: number | undefined,
    from: string,
  ) =>
    [
      `${weeks} weeks, strength ${strength} %`,
      ...(stiffness === undefined ? [] : [`stiffness ${stiffness} %`]),
      ...(goneBy === undefined ? [] : [`gone by ${goneBy} weeks`]),
      from === 'case' ? 'stated for the case' : 'default of the family',
    ].join('; '),
  left: (mean: string, lower: string, upper: string) => `${mean} (${lower} to ${upper})`,
  notKnown: 'not known',
  /** Weeks beyond the window, or up to which it is known to hold where these are fewer. */
  marginOf: (weeks: number, isAtLeast: boolean, holdWeeks: number) =>
    weeks < 0
      ? `known to hold for ${holdWeeks + weeks} of ${holdWeeks} weeks`
      : `${isAtLeast ? 'at least ' : ''}${weeks} ${weeks === 1 ? 'week' : 'weeks'} more`,
  weeksThen: (weeks: number, outcome: string, margin: string | undefined) =>
    `${weeks} weeks: ${outcome}${margin === undefined ? '' : `; ${margin}`}`,
  driver: { curve: 'curve', specimens: 'spread of specimens', measuring: 'measuring', localisation: 'depth of pits' },
  drivenBy: (source: string, percent: string) => `mostly ${source}, ${percent} % of the variance`,
  longest: (weeks: string) => `longest exposure ${weeks} weeks`,
  why: {
    'no section': 'no load-bearing section is stated for it',
    'no zone class': 'the zone is none of the recipe',
    'no exposures': 'no exposure of its coupons has ended',
    'no study': 'no equivalence study lets its coupons speak for it in degradation',
    control: 'the control of a bath lay outside its range',
    'no uncertainty':
      'an exposure states no uncertainty of what was lost: of its weighing, its volume or its reading of gas',
    'no bound': 'area, time or density of an exposure is hardly known, so that its loss has no bound',
    'no localisation': 'the depth of pits was not measured, and the family states none',
  },
  unknown: {
    specimens: 'no duration has two specimens, so nothing is known of their spread',
    localisation: 'pits were measured on one specimen, so nothing is known of their spread',
    falls: 'a longer exposure lost less than a shorter one',
    section: 'its own section was measured, and the design gives a table, in which a size has no place',
    draws: 'the lot file draws too few numbers for the confidence',
  },
  apart: (what: string, a: string, b: string) => `exposures that do not stand together: ${what} ${a} and ${b}`,
  simulated: 'an end from the simulation, which reaches farther',
  note: (decides: boolean, draws: number | undefined) =>
    [
      'In brackets from the lower to the upper end, each at 95 % one-sided. Inside: even the lower end keeps the limits. Outside: even the upper end does not. Nothing is stated beyond the longest exposure.',
      ...(draws === undefined
        ? []
        : [
            `Where first order may not be enough, ${draws} draws from the seed in the lot file simulate the loss: an end counts where it reaches farther than by chance.`,
          ]),
      decides
        ? 'The specification lets these windows decide.'
        : 'Shown, and no part of the verdict: the specification does not let them decide.',
      'Computed as in the calculations loss-over-time and support-window.',
    ].join(' '),
  tailored: (serials: readonly string[]) => `Zones of ${serials.join(', ')}: settings, and what was measured there`,
  every: (layers: number) => `every ${layers} ${layers === 1 ? 'layer' : 'layers'}`,
  zone: 'Zone',
  zoneOf: (zone: string, zoneClass: string | undefined) => (zoneClass === undefined ? zone : `${zone} (${zoneClass})`),
  recipe: 'Steps of the recipe',
  loss: 'Mean loss of the longest exposure',
  lossOfCoupons: (coupons: readonly string[], lost: string) => `${coupons.join(', ')}: ${lost}`,
  noCoupon: 'no coupon speaks for it',
  strengthThere: 'Strength and more',
  surface: 'Surface, and what touched it',
  measuredThere: (title: string, values: string) => `${title} ${values}`,
  between: (least: string, most: string, unit: string, count: number) => `${least} to ${most}${unit}, ${count} values`,
  notMeasured: 'not measured',
  metals: (serials: readonly string[], metals: string) => `Other metals near ${serials.join(', ')}: ${metals}.`,
  lossOf: (umText: string, weeks: string, mmPerYear: string) => `${umText} µm in ${weeks} weeks, ${mmPerYear} mm/year`,
  sign: 'No sign of an effect of peening is taken for granted: what counts is what was measured on the face as it was made.',
};

const QUANTITIES: Readonly<Record<string, string>> = {
  massLossG: 'weighing',
  areaCm2: 'area',
  timeH: 'time',
  densityGPerCm3: 'density',
  volumeMm3: 'volume',
  volumeMl: 'gas volume',
  gasC: 'temperature of the gas',
  kPa: 'pressure of the gas',
};

/** Words of the table of exposures. */
export const EXPOSURES = {
  title: 'Exposures',
  caption: 'What was lost on each face, and the rate with its standard uncertainty',
  under: (letter: string, conditions: string) => `${letter}: ${conditions}.`,
  specimen: 'Specimen',
  face: (face: string, zoneClass: string) => `face ${face}, zones ${zoneClass}`,
  medium: (medium: string, revision: number, batch: string) => `${medium} revision ${revision} batch ${batch}`,
  protocol: (method: string, revision: number) => `by ${method} revision ${revision}`,
  share: (mlPerCm2: string) => `${mlPerCm2} mL/cm²`,
  changed: (hours: string) => `changed every ${hours} h`,
  notChanged: 'never changed',
  atRest: 'at rest',
  flow: (mlPerMin: string) => `flow ${mlPerMin} mL/min`,
  gas: (gas: string) => `gas ${gas}`,
  mask: (mask: string) => `masked: ${mask}`,
  sterilised: (load: string) => `sterilised before in ${load}`,
  notSterilised: 'not sterilised before',
  control: (material: string, value: string, min: string, max: string, unit: string) =>
    `control ${material} ${value} ${unit} (${min} to ${max})`,
  noControl: 'no control material',
  conditionsHead: 'Conditions',
  pH: 'pH start / most / end',
  weeks: 'Weeks',
  loss: 'Loss',
  rateHead: 'Rate /(mm/year), by, mostly from',
  rate: (value: string, by: string, part: string | undefined, isSimulated = false) =>
    [
      value,
      by,
      ...(by === 'current' ? ['advisory'] : []),
      ...(isSimulated ? ['uncertainty simulated'] : []),
      ...(part === undefined ? [] : [part]),
    ].join(', '),
  part: (quantity: string, percent: number) => `${QUANTITIES[quantity] ?? quantity} ${percent} %`,
  plusMinus: (value: string, uncertainty: string) => `${value} ± ${uncertainty}`,
  unbounded: (value: string) => `${value}, known to no bound`,
  lasts: 'still lies in it',
  none: '–',
};
