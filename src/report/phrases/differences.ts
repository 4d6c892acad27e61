import type { What } from '../../dossier/difference.js';
import { namesText } from '../../dossier/statement.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import { meaningText } from './codes.js';
import { counted } from './counted.js';
import { kindText } from './kinds.js';
import { THINGS } from './things.js';

/** What differs between two lot files of one lot, without a full stop. */
export function differenceText(what: What): string {
  switch (what.code) {
    case 'document added':
      return `${THINGS.document(what.document)} was added`;
    case 'document says more':
      return `${THINGS.document(what.document)} says more than revision ${what.from}`;
    case 'document differs':
      return `${THINGS.document(what.document)} differs from revision ${what.from}`;
    case 'measured':
      return `${placeText(what.row)} was measured: ${what.row.value}${spacedUnit(what.row.ucum)}`;
    case 'value changed': {
      const { row, was, reason } = what;
      return `${placeText(row)} was ${was.value}${spacedUnit(was.ucum)} and is ${row.value}${spacedUnit(row.ucum)}: ${reason}`;
    }
    case 'many results':
      return `${what.results} results came or changed`;
    case 'log taken in':
      return `the log of ${what.build} was taken in`;
    case 'further log':
      return `a further log of ${what.build} was taken in`;
    case 'other log':
      return `the log of ${what.build} is another file`;
    case 'family values':
      return `values of lot ${what.lot} came or changed in the history of the family`;
    case 'older family values':
      return olderText(what.of);
    case 'signed': {
      const { subjects, meaning, person, at } = what.statement;
      const signed = `${kindText(subjects[0]!.kind)} ${namesText(subjects.map(({ key }) => key))}`;
      return `${signed} was signed as ${meaningText(meaning)} by ${person.name} at ${timeText(at)}`;
    }
    case 'withdrawn':
      return `${THINGS.document(what.document)} was withdrawn: ${what.reason}`;
    case 'lot file not here':
      return 'the lot file that was signed before is not here';
    case 'lot file not readable':
      return 'the lot file that was signed before is in a form that this version of the program does not read';
  }
}

/** What differs between a document as it was signed last and as it stands. */
export const SIGNED_CHANGED = 'what was signed before has changed';
export const firstChangeText = (
  revision: number,
  { field, was }: { readonly field: string; readonly was: string },
): string => `the first field that differs from revision ${revision} is ${field}; it was ${was}`;

/** None where the history lost what it had, or a plan changed what is looked back on. */
function olderText(of: Extract<What, { code: 'older family values' }>['of']): string {
  if (of.length === 0) return 'what is carried of the history of the family changed, and no value of it';
  const said = of.map(({ characteristic, rows, what }) =>
    what === 'values'
      ? `values of earlier lots came or changed in ${characteristic} (${counted(rows, 'row')})`
      : `values of earlier lots stayed in ${characteristic}, and what is known beside them changed (${counted(rows, 'row')}: powder, people, calibrations, wear, medium, limits)`,
  );
  return `in the history of the family, ${said.join('; ')}`;
}

type Row = Extract<What, { code: 'measured' }>['row'];

const placeText = ({ specimen, piece, characteristic, replicate }: Row): string =>
  [specimen, piece, characteristic, replicate].filter((part) => part !== '').join(' ');
