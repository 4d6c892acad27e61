import { spacedUnit } from '../../dossier/unit-text.js';
import { counted } from './counted.js';
import { RANGES } from './ranges.js';

const figures = (value: number): string => String(Number(value.toPrecision(4)));

interface Exposed {
  readonly medium: string;
  readonly mediumRevision: number;
  readonly hours: number;
  readonly face: string;
  readonly sterilised?: true | undefined;
  readonly flowMlPerMin?: string | undefined;
  readonly gas?: string | undefined;
  readonly temperatureC: number;
}

/** Sentences with facts in them on the page of ranges. */
export const RANGES_PAGE = {
  asked: 'asked',
  range: RANGES.range,
  settingsOf: (zoneClass: string, machine: string) =>
    `${zoneClass === '' ? 'Whole part' : zoneClass}, built on ${machine}`,
  windowsOf: (zoneClass: string) => `Windows and sections of ${zoneClass} zones`,
  designs: 'Designs',
  validated: (
    { min, max, validation, revision }: { min: string; max: string; validation: string; revision: number },
    ucum: string,
  ) => `${min} to ${max}${spacedUnit(ucum)} by ${validation} revision ${revision}`,
  exposed: (exposed: Exposed | null) =>
    exposed === null
      ? ''
      : [
          `, ${exposed.hours} h in ${exposed.medium} revision ${exposed.mediumRevision}, face ${exposed.face}`,
          ...(exposed.sterilised ? ['sterilised'] : []),
          ...(exposed.flowMlPerMin === undefined ? [] : [`flow ${exposed.flowMlPerMin} mL/min`]),
          ...(exposed.gas === undefined ? [] : [`gas ${exposed.gas}`]),
          `${exposed.temperatureC} °C`,
        ].join(', '),
  recipe: (recipe: string, revision: number) => `${recipe} revision ${revision}`,
  values: ({ mean, sd, n, lots }: { mean: number; sd: number | null; n: number; lots: number }) =>
    `${figures(mean)}${sd === null ? '' : ` ± ${figures(sd)}`}, n ${n} of ${counted(lots, 'lot')}`,
  rest: (shown: number, all: number) => `The first ${shown} of ${all}; the command and the API tell all.`,
  figure: (title: string, setting: string, zoneClass: string) =>
    `${title} by ${setting}${zoneClass === '' ? '' : `, ${zoneClass}`}`,
  point: (
    { setting, mean, min, max, n }: { setting: number; mean: number; min: number; max: number; n: number },
    settingUnit: string,
    unit: string,
  ) => `at ${setting} ${settingUnit}: mean ${figures(mean)} ${unit}, ${figures(min)} to ${figures(max)}, n ${n}`,
  alt: (points: readonly string[]) =>
    `Dots are means, bars reach from the smallest to the largest value. ${points.join('; ')}.`,
} as const;
