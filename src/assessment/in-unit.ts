import { AppError } from '../base/errors.js';
import { convert } from '../base/units.js';

/** A value in another unit, or undefined where the two do not measure the same thing or are shares of different things. */
export function inUnit({ value, ucum }: { value: string; ucum: string }, wanted: string): string | undefined {
  try {
    return convert(value, ucum, wanted);
  } catch (error) {
    if (error instanceof AppError) return undefined;
    throw error;
  }
}
