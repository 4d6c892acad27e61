import { wordsOf } from './phrase.js';

const PROPERTIES = { bond: 'bond', hardness: 'hardness profile', porosity: 'porosity' } as const;

/** What has to be known of the place where new metal meets stock. */
export const interfacePropertyText = (property: string): string => wordsOf(PROPERTIES, property);

const EVENTS = {
  'handed over': 'handed over',
  implanted: 'implanted',
  'not used': 'not used',
  'destroyed there': 'destroyed at the institution',
  explanted: 'explanted',
  lost: 'lost',
  returned: 'returned',
  destroyed: 'destroyed',
  rework: 'to be reworked',
  concession: 'let go by a concession',
  scrap: 'to be scrapped',
  return: 'to be returned',
  'no effect': 'not affected',
  'not decided': 'not decided on',
} as const;

/** What an event of what was an implant says of it. */
export const stockEventText = (what: string): string => wordsOf(EVENTS, what);

/** Words of the table of stock parts, on the page and in the record. */
export const STOCK_ROWS = {
  caption: 'Stock on which parts were built',
  heads: {
    part: 'Part',
    stock: 'Stock part',
    was: 'What it was',
    face: 'Face, and when it was made ready',
    built: 'Built on it',
    story: 'What it went through',
  },
  bar: (material: string, receipt: string) => `${material}, receipt ${receipt}`,
  repaired: (material: string, implant: string, lot: string, why: string) =>
    `${material}, was ${implant} of lot ${lot}: ${why}`,
  metal: (builds: readonly string[], heats: readonly string[]) =>
    `built in ${builds.join(', ')} from heats ${heats.join(', ')}`,
  corrected: (receipt: string, replaces: string, certificate: string, issued: string) =>
    `certificate ${replaces} of ${receipt} replaced by ${certificate}, ${issued}`,
  builtOn: (
    stockPart: string,
    material: string,
    paper: { readonly receipt: string; readonly heats: readonly string[] } | undefined,
  ) =>
    `built on stock part ${stockPart}, ${material}${paper === undefined ? '' : `, receipt ${paper.receipt}${paper.heats.length === 0 ? '' : `, heats ${paper.heats.join(', ')}`}`}`,
  face: (zone: string, preparation: string, roughness: string | undefined) =>
    `zone ${zone}, ${preparation}${roughness === undefined ? '' : `, roughness ${roughness}`}`,
  prepared: (by: string, at: string) => `made ready by ${by}, ${at}`,
  notPrepared: 'not said to be made ready',
  use: (part: string, lot: string, build: string) => `${part}, lot ${lot}, in ${build}`,
  takenOff: (implant: string, at: string, how: string) => `${implant} taken off ${at}: ${how}`,
  fate: (as: string, at: string, by: string) => `${as} since ${at}, by ${by}`,
  event: (what: string, at: string, key: string) => `${wordsOf(EVENTS, what)}, ${at} (${key})`,
  nothing: 'nothing on record',
  ownLines: 'Lines of its certificate',
} as const;

/** Words of the comparison of a stock part before and after. */
export const STOCK_CHANGE = {
  title: 'Stock before and after',
  caption: (serial: string, scan: string, before: string) =>
    `${serial}: stock by scan ${scan}, compared with scan ${before}; positive where it grew`,
  heads: {
    surface: 'Surface that stays, compared',
    mean: 'Mean change',
    spread: 'Least to most',
    worst: 'Largest change',
    at: 'Where',
  },
  share: (percent: string, cells: number, cellMm: string) => `${percent} % of ${cells} squares of ${cellMm} mm`,
  laid: (scan: string, isFit: boolean, residual: string | undefined, points: number) =>
    `Scan ${scan}: ${points} points on the surface that stays, laid ${isFit ? `on it by least squares${residual === undefined ? '' : `, which leaves ${residual} mm (root mean square)`}` : 'as given'}.`,
  uncertainty: (mm: string) => `Standard uncertainty of a change: ${mm} mm, of both scans together.`,
  notCompared: (serial: string, scan: string) => `Scan ${scan} of ${serial} could not be compared with the one before.`,
  notMeasured: (serial: string, scan: string) => `Scan ${scan} of ${serial} was not compared with the one before.`,
} as const;
