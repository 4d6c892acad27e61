import { spacedUnit } from '../../../dossier/unit-text.js';

/** What the command on a characteristic of a family prints around the facts. */
export const TREND_LINES = {
  title: (characteristic: string, family: string, limits: string, ucum: string) =>
    `${characteristic} of family ${family}, ${limits}${spacedUnit(ucum)}, in build order:`,
  heads: ['built', 'lot', 'build', 'n', 'mean', 'min', 'max'],
  noIndex: 'no index',
  index: (ppk: string) => `Ppk ${ppk}`,
  over: (values: number, builds: number, lot: string, index: string) =>
    `Over ${values} values of ${builds} builds before lot ${lot}: ${index}.`,
  leftOut: (values: number, lots: number, why: string) => `left out: ${values} value(s) of ${lots} lot(s), ${why}`,
  trial: (factor: string, says: string) => `Pooled over ${factor}: ${says}`,
  group: (factor: string, name: string, says: string) => `Only ${factor} ${name}: ${says}`,
  signal: (point: string, says: string, outcome: string) => `Signal at ${point}: ${says}. Outcome: ${outcome}`,
  noDay: (option: string, found: string) =>
    `${option} is ${JSON.stringify(found)}, expected a calendar date such as 2026-03-02`,
  takenOut: (named: string) => `taken out by a signed decision: ${named}`,
};
