import { CalculationError } from '../../src/base/errors.js';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';

/** The answer of a calculation as a program sees it; the caller names the fields it reads. */
export function runRow<T>(name: string, input: unknown): T & { notes: string[]; method: string; source: string } {
  return runCalculation(calculationNamed(name), input) as never;
}

/** The field that a calculation refuses in this input; fails when it answers instead. */
export function refusedField(name: string, input: unknown): string {
  try {
    runCalculation(calculationNamed(name), input);
  } catch (error) {
    if (error instanceof CalculationError) return error.field;
    throw error;
  }
  throw new Error(`${name} answered ${JSON.stringify(input)} instead of refusing it`);
}
