import { signedOn } from '../assessment/signed.js';
import type { Facts } from '../dossier/facts.js';
import { revisionSubject } from '../dossier/signable.js';
import { enteredLate } from '../dossier/tables.js';
import { RESULT_PEOPLE } from './phrases/result-rows.js';
import { checkerText } from './phrases/signatures.js';

/** A result row with its number from 1. */
export interface NumberedRow {
  readonly number: number;
  readonly row: Facts['results'][number];
}

const numbered = (facts: Facts): NumberedRow[] => facts.results.map((row, index) => ({ row, number: index + 1 }));

/** Each result that a later one replaced, with the one that replaced it. */
export function correctionsOf(facts: Facts): (NumberedRow & { readonly next: NumberedRow['row'] })[] {
  const key = ({ specimen, piece, characteristic, replicate }: NumberedRow['row']) =>
    [specimen, piece, characteristic, replicate].join('\n');
  return numbered(facts)
    .filter(({ row }) => row.status === 'corrected')
    .map(({ row, number }) => ({
      row,
      number,
      next: facts.results.slice(number).find((later) => key(later) === key(row))!,
    }));
}

export const lateResultsOf = (facts: Facts): NumberedRow[] => numbered(facts).filter(({ row }) => enteredLate(row));

/** Who measured it; and for a typed value who entered and who signed that they checked it. */
export function peopleText(facts: Facts, { analyst, enteredBy, checkedBy, evidence }: NumberedRow['row']): string {
  const sheet = facts.resultSets.get(evidence);
  const signed = signedOn(facts, sheet && revisionSubject({ ...sheet, kind: 'result-set' }), 'checked').filter(
    ({ person }) => person.code !== enteredBy,
  );
  const checker = checkerText(signed, checkedBy, 'codes');
  const entered = enteredBy === '' ? [] : [RESULT_PEOPLE.entered(enteredBy), RESULT_PEOPLE.checked(checker)];
  return [analyst, ...entered].join(', ');
}
