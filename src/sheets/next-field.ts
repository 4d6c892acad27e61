import { askedByCode } from '../base/element-strings/asked-by-code.js';
import { AppError, BadInputError } from '../base/errors.js';
import type { TypedFields } from '../entry/typed-fields.js';
import { SHEET_REFUSALS } from '../report/phrases/result-sheets.js';
import { fieldOf } from './sheet-fields.js';
import type { SheetRow } from './waiting-values.js';

/** Where a specimen is typed, or its code scanned, that is to be found in a sheet. */
export const SCANNED = ':scanned';

/**
 * The field at which somebody goes on who typed a value: the next value that is empty, of the scanned specimen where one
 * was scanned.
 * @param year the present year, for dates of two digits in a scanned code.
 * @returns undefined where nothing is left to type.
 * @throws BadInputError where no row of the sheet is for what was scanned.
 */
export function nextField(
  rows: readonly SheetRow[],
  fields: TypedFields,
  scanned: string,
  year: number,
): string | undefined {
  const own = scanned === '' ? rows : rowsOf(rows, scanned, year);
  const values = own.map((row) => fieldOf('value', row));
  const empty = values.find((field) => (fields[field] ?? '') === '');
  return scanned === '' ? empty : (empty ?? values[0]);
}

function rowsOf(rows: readonly SheetRow[], scanned: string, year: number): SheetRow[] {
  const specimen = specimenIn(scanned, year);
  const own = rows.filter((row) => row.specimen === specimen);
  if (own.length > 0) return own;
  throw new BadInputError([
    {
      code: 'specimen',
      field: SCANNED,
      found: `“${scanned}”`,
      expected: SHEET_REFUSALS.specimenExpected,
      remedy: SHEET_REFUSALS.specimenRemedy,
    },
  ]);
}

/** Whatever cannot be read as a code is taken as it was typed. */
function specimenIn(scanned: string, year: number): string {
  try {
    return askedByCode(scanned, year).id;
  } catch (error) {
    if (error instanceof AppError) return scanned;
    throw error;
  }
}
