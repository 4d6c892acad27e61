import { AppError } from '../errors.js';
import { readScannedCode } from './scanned-code.js';
import { unitIdentifierOf } from './unit-identifier.js';

/** The thing that a scanned code names: its serial, or its lot where it carries no serial. */
export interface AskedByCode {
  readonly id: string;
  /** The lot that the code tells of its serial. */
  readonly lot?: string | undefined;
  /** GTIN of the device that it is on, (01). */
  readonly gtin?: string | undefined;
}

/**
 * @param year the present year, for dates of two digits.
 * @throws AppError BAD_INPUT where the code breaks the grammar of GS1, or names neither serial nor lot.
 */
export function askedByCode(scanned: string, year: number): AskedByCode {
  const code = readScannedCode(scanned, year);
  if (code.form === 'text') return { id: code.text };
  const { serial, lot, gtin } = unitIdentifierOf(code.elements, year);
  if (serial !== undefined) return { id: serial, lot, gtin };
  if (lot !== undefined) return { id: lot, gtin };
  const found = code.elements.map(({ ai }) => `(${ai})`).join(', ');
  throw new AppError('BAD_INPUT', `the code holds ${found}: expected a serial, (21), or a lot, (10), to look for`);
}
