import { capital } from './capital.js';

/** Why a field of a calculation cannot be read, as codes tell it. */
type Fault =
  | { readonly code: 'missing' }
  | { readonly code: 'unknown'; readonly name: string }
  | { readonly code: 'no number' | 'no whole number' | 'no json' | 'no choice'; readonly found: string }
  | { readonly code: 'few columns'; readonly row: number; readonly columns: readonly string[] }
  | { readonly code: 'refused'; readonly says: string };

/** What the form of a calculation says around its fields. */
export const CALCULATION_FORM = {
  show: 'Show its fields',
  notComputed: 'This cannot be computed',
  values: 'Values stand apart by blanks or lines, as copied from a table; a comma counts as a decimal mark.',
  groups: 'A line for each group, its values apart by blanks.',
  groupsOfGroups: 'A line for each cell, its values apart by blanks; an empty line between the groups of cells.',
  rows: (columns: readonly string[], mayMiss: readonly string[]) =>
    `A line for each, apart by blanks: ${columns.join(', ')}${mayMiss.length === 0 ? '' : `; ${mayMiss.join(', ')} may stay away`}.`,
  json: 'As JSON: lists within lists, such as [[1, 2], [3, 4]].',
  otherwise: (value: string) => `${value} where nothing stands here.`,
  /** Parts of the help of a field, as sentences. */
  help: (parts: readonly string[]) => parts.map(sentence).join(' '),
  nothing: 'Nothing was typed: fill in the fields.',
} as const;

const sentence = (text: string): string => `${capital(text)}${/[.!?]$/.test(text) ? '' : '.'}`;

/** Longer texts are cut where they are told back. */
const LONGEST_TOLD = 60;
const told = (text: string): string => `“${text.length > LONGEST_TOLD ? `${text.slice(0, LONGEST_TOLD)}…` : text}”`;

/** @param label of the field; empty where the whole input is to blame. */
export function calculationFaultText(label: string, fault: Fault): string {
  const says = faultText(fault);
  return label === '' ? says : `${label}: ${says}`;
}

function faultText(fault: Fault): string {
  switch (fault.code) {
    case 'missing':
      return 'nothing yet, and it is needed';
    case 'unknown':
      return `${told(fault.name)} is no field of this calculation: open its page anew`;
    case 'no number':
      return `${told(fault.found)} is no number; write it as 12.5 or 12,5`;
    case 'no whole number':
      return `${told(fault.found)} is no whole number`;
    case 'no choice':
      return `${told(fault.found)} is none of the choices`;
    case 'no json':
      return `${told(fault.found)} cannot be read; write it as [[1, 2], [3, 4]]`;
    case 'few columns':
      return `line ${fault.row} has another number of values than ${fault.columns.join(', ')}`;
    case 'refused':
      return fault.says;
  }
}
