import { CalculationError } from '../base/errors.js';

/*
 * What every library function asks of its numbers before it computes. The calculations on the command line check their
 * input with the schemas of `inputs.ts`; these guards are for everyone who calls the functions directly.
 */

/** @throws CalculationError when the number is NaN or infinite. */
export function requireFinite(value: number, field: string): void {
  if (!Number.isFinite(value)) throw new CalculationError(field, `found ${value}, expected a finite number`);
}

/** @throws CalculationError when the number is not finite and greater than zero. */
export function requirePositive(value: number, field: string): void {
  if (!(Number.isFinite(value) && value > 0)) {
    throw new CalculationError(field, `found ${value}, expected a finite number greater than 0`);
  }
}

/** @throws CalculationError when the number is not finite or is less than zero. */
export function requireNonNegative(value: number, field: string): void {
  if (!(Number.isFinite(value) && value >= 0)) {
    throw new CalculationError(field, `found ${value}, expected a finite number of 0 or more`);
  }
}

/** @throws CalculationError when the number does not lie strictly between 0 and 1. */
export function requireProbability(value: number, field: string): void {
  if (!(value > 0 && value < 1)) {
    throw new CalculationError(field, `found ${value}, expected a number strictly between 0 and 1`);
  }
}

/** @throws CalculationError when there are fewer values than needed, or one of them is not finite. */
export function requireValues(values: readonly number[], minimum: number, field: string): void {
  if (values.length < minimum) {
    throw new CalculationError(field, `found ${values.length} values, needs at least ${minimum}`);
  }
  values.forEach((value, index) => {
    requireFinite(value, `${field}.${index}`);
  });
}
