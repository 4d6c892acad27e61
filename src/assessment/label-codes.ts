import { readScannedCode } from '../base/element-strings/scanned-code.js';
import { type UnitIdentifier, unitIdentifierOf } from '../base/element-strings/unit-identifier.js';
import { AppError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';

/**
 * What a code names that was read off a label. A text that is no element string is the serial itself.
 * @returns undefined for a code that breaks its grammar.
 */
export function identified({ lot }: Pick<Facts, 'lot'>, text: string): Partial<UnitIdentifier> | undefined {
  const year = Number(lot.body.builds[0]!.openedAt.slice(0, 4));
  try {
    const found = readScannedCode(text, year);
    return found.form === 'text' ? { serial: found.text } : unitIdentifierOf(found.elements, year);
  } catch (error) {
    if (error instanceof AppError) return undefined;
    throw error;
  }
}
