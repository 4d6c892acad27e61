import type { RangeAxis } from '../../design-history/axes.js';
import type { LeftOut } from '../../design-history/shown-settings.js';
import type { RangeOutcome } from '../../design-history/standing-place.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import { counted } from './counted.js';
import { stepText } from './trade-codes.js';

const WINDOW_AXES = {
  holdWeeks: 'weeks it has to hold',
  strengthLeft: 'strength left at their end, as a part of the start',
  stiffnessLeft: 'stiffness left at their end, as a part of the start',
  goneByWeeks: 'week by which it is to be gone',
} as const;
const SECTION_AXES = {
  plate: 'thickness of the plate',
  round: 'diameter of the core',
  areaMm2: 'area of the section',
  sectionModulusMm3: 'section modulus',
  secondMomentMm4: 'second moment of area',
} as const;

export function rangeAxisText(axis: RangeAxis): string {
  if (axis.of === 'window') return WINDOW_AXES[axis.what];
  if (axis.of === 'section') return SECTION_AXES[axis.what];
  if (axis.of === 'design') return axis.parameter;
  const setting = axis.parameter === null ? 'every so many layers' : axis.parameter;
  return `${axis.zoneClass === '' ? '' : `${axis.zoneClass}, `}${stepText(axis.step)}, ${setting}`;
}

interface Spread {
  readonly points: number;
  readonly axes: number;
  readonly varied: number;
  readonly dimension: number;
}

type About = 'settings' | 'window' | 'design';
const OF_ABOUT = { settings: 'setting', window: 'number', design: 'parameter' } as const;

interface AxisShown {
  readonly name: string;
  readonly ucum: string;
  readonly min: string;
  readonly max: string;
  readonly distinct: number;
}

const range = ({ min, max, ucum, distinct }: Omit<AxisShown, 'name'>): string =>
  distinct === 1 ? `only ${min}${spacedUnit(ucum)}` : `${min} to ${max}${spacedUnit(ucum)}`;

/** What is said of ranges that were shown so far. */
export const RANGES = {
  /** Beside every answer. */
  caution:
    'This tells what was built and measured so far, and nothing beyond it: no recommendation for a patient. Inside means that lots around it were shown, not that this one will be as they were.',
  scaling:
    'How far: each difference is divided by the range that was shown of it, and the squares are added. So 1 is as far as the whole range of one. What was never varied has no range, and counts for nothing in it.',
  ofOther: (code: string, own: string, asked: string) =>
    `case ${code} is of family ${own}, not of ${asked}: ask for it there`,
  title: (family: string) => `What lots of family ${family} have shown so far:`,
  combinations: (count: number) => counted(count, 'combination'),
  caseWithoutRanges: '--case goes with --ranges',
  now: '--ranges tells what is on record now: leave --as-of out',
  nearest: 'nearest:',
  show: 'to be shown:',
  recipe: 'recipe',
  noDesign: (code: string, iteration: number) =>
    `iteration ${iteration} of the design of case ${code} is not on record: take it in first`,
  noRecipe: (code: string, recipe: string, revision: number) =>
    `the design of case ${code} names ${recipe} revision ${revision}, which is not on record: take it in first`,
  titles: {
    settings: (zoneClass: string) =>
      zoneClass === '' ? 'Settings of the whole part' : `Settings of ${zoneClass} zones`,
    window: (zone: string, zoneClass: string) =>
      `Window and section of ${zone}${zoneClass === '' ? '' : `, ${zoneClass}`}`,
    design: 'Parameters of the design',
  },
  outcome: {
    shown: 'exactly this was done before',
    inside: 'inside what was shown: each value in its range, and all together between what was done',
    'in ranges only':
      'each value lies in its range, but not all together: the combination lies outside the convex hull of what was done',
    outside: 'outside what was shown',
    'not comparable': 'cannot be compared: no lot was made with the same list of them',
    'nothing shown': 'nothing was shown yet',
  } satisfies Record<RangeOutcome, string>,
  /** Of windows and designs it is known that they were asked, and no more. */
  lies: (outcome: RangeOutcome, about: About): string => {
    if (about === 'settings') return RANGES.outcome[outcome];
    if (outcome === 'shown') return 'exactly this was asked of a lot that was built';
    if (outcome === 'inside')
      return 'inside what was asked of lots that were built: each value in its range, and all together between them';
    return RANGES.outcome[outcome];
  },
  spans: ({ points, axes, varied, dimension }: Spread, about: About) => {
    const one = OF_ABOUT[about];
    if (varied === 0) {
      return axes === 1
        ? `Its one ${one} was never varied: there is no range around it.`
        : `None of its ${axes} ${one}s was ever varied: there is no range around them.`;
    }
    const combinations = counted(points, 'combination');
    const shown = `${combinations} of ${counted(axes, one)}, of which ${varied} ${varied === 1 ? 'was' : 'were'} varied`;
    return dimension < varied
      ? `${shown}, but never apart from each other: they span ${counted(dimension, 'dimension')} of ${varied}, and almost every other combination lies outside.`
      : `${shown}.`;
  },
  axis: (shown: AxisShown, demanded: string, side: 'inside' | 'below' | 'above') => {
    const at = `${demanded}${spacedUnit(shown.ucum)}`;
    if (side === 'inside') return shown.distinct === 1 ? `${at}, as always` : `${at}, inside ${range(shown)}`;
    return `${at}, ${side} what was shown: ${range(shown)}`;
  },
  range,
  distance: (distance: number) =>
    distance === 0 ? 'no difference in what was varied' : `${Number(distance.toPrecision(3))} away`,
  near: (lots: readonly string[], more: number, distance: string) =>
    `${lots.join('; ')}${more === 0 ? '' : `, and ${counted(more, 'lot')} more`}: ${distance}`,
  lotHeld: (lot: string, held: string) => `${lot} (${held})`,
  held: (outcomes: readonly string[]) => `its windows by its own record: ${outcomes.join(', ')}`,
  notAssessed: 'its windows were not computed yet',
  toShow: {
    axis: (about: About, title: string, { name, ucum, min, max, distinct }: AxisShown, demanded: string) =>
      about === 'settings'
        ? `${title}: lots built and measured with ${name} at ${demanded}${spacedUnit(ucum)} (${range({ min, max, ucum, distinct })} so far).`
        : `${title}: ${name} of ${demanded}${spacedUnit(ucum)} (${range({ min, max, ucum, distinct })} so far).`,
    together: (title: string) => `${title}: lots with this combination, or with others around it on every side.`,
    otherAxes: (title: string, onlyDemanded: readonly string[], onlyShown: readonly string[]) =>
      [
        `${title}: lots made with the same list.`,
        ...(onlyDemanded.length > 0 ? [`No lot states ${onlyDemanded.join('; ')}.`] : []),
        ...(onlyShown.length > 0 ? [`Here nothing is stated of ${onlyShown.join('; ')}.`] : []),
      ].join(' '),
    differsWithin: (title: string) =>
      `${title}: zones of this class are set differently here, so nothing measured of the class tells of one of them.`,
    nothing: (title: string) => `${title}: anything at all; no first-pass value or built lot of it is on record.`,
    exposure: (zone: string, weeks: number, longest: string | undefined) =>
      `${zone}: exposures of at least ${counted(weeks, 'week')}; ${longest === undefined ? 'none of its class is on record' : `the longest of its class is ${longest}`}.`,
  },
  exposure: (zoneClass: string, medium: string, revision: number, weeks: number) =>
    `${zoneClass === '' ? 'whole part' : zoneClass}: ${weeks} weeks in ${medium} revision ${revision}`,
  weeks: (weeks: number) => counted(weeks, 'week'),
  longest: (weeks: number, medium: string, revision: number) =>
    `${counted(weeks, 'week')}, in ${medium} revision ${revision}`,
  leftOut: ({ recipe, revision, zoneClass, why, values }: LeftOut) => {
    const reason = {
      'recipe not on record': 'this revision is not on record',
      'differs within': 'its zones of this class are set differently, and values do not say which of them they are of',
      'no such class': 'it has no zone of this class',
    }[why];
    return `${counted(values, 'value')} of ${zoneClass === '' ? 'the whole part' : zoneClass} by ${recipe} revision ${revision} left out: ${reason}`;
  },
  says: (code: string, inside: number, parts: number, isWhole: boolean) =>
    parts === 0
      ? `Nothing of case ${code} can be compared yet.`
      : inside === parts
        ? `All of what case ${code} asks lies inside what was shown so far${isWhole ? '' : ', but something has still to be shown'}.`
        : `Of what case ${code} asks, ${inside} of ${counted(parts, 'part')} ${inside === 1 ? 'lies' : 'lie'} inside what was shown so far.`,
} as const;
