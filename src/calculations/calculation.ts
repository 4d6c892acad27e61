import { z } from 'zod';
import { CalculationError } from '../base/errors.js';

/** What every answer carries beside its numbers. */
export interface Answer {
  /** What was computed, by which algorithm. */
  readonly method: string;
  /** Where the formula is published. */
  readonly source: string;
  /** Conditions, conventions, and why a quantity is absent. */
  readonly notes: readonly string[];
}

/**
 * One calculation as the command line, the API, the pages and the docs offer it.
 * Every field of `input` carries a `.describe()` with meaning and unit: help texts and pages are made from it.
 */
export interface Calculation<I = never, O extends Answer = Answer> {
  /** The name in `lotwright calc NAME`. */
  readonly name: string;
  /** One line: what question it answers. */
  readonly purpose: string;
  readonly input: z.ZodType<I>;
  /** Output field → meaning and unit. */
  readonly output: Readonly<Record<string, string>>;
  /** The formula in plain text, complete enough to work the example by hand. */
  readonly formula: string;
  readonly source: string;
  /** A worked example; `steps` shows the arithmetic in words. */
  readonly example: { readonly input: unknown; readonly source: string; readonly steps: readonly string[] };
  compute(input: I): O;
}

/** Erases the input type, so that calculations of every shape fit in one list. */
export function defineCalculation<I, O extends Answer>(calculation: Calculation<I, O>): AnyCalculation {
  return calculation as unknown as AnyCalculation;
}
export type AnyCalculation = Calculation<unknown, Answer>;

/**
 * Checks the input strictly and computes.
 * @throws CalculationError naming the field that is unknown, missing, of the wrong type or out of range.
 */
export function runCalculation(calculation: AnyCalculation, input: unknown): Answer {
  const parsed = calculation.input.safeParse(input);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    const field =
      issue.code === 'unrecognized_keys'
        ? [...issue.path, issue.keys[0]].join('.')
        : issue.path.map(String).join('.') || 'input';
    throw new CalculationError(field, reasonOf(issue));
  }
  const answer = calculation.compute(parsed.data);
  assertFinite(answer, '');
  return answer;
}

/** What the schema says of a field, and of what it has no words of its own for. */
function reasonOf(issue: z.core.$ZodIssue): string {
  if (issue.code === 'unrecognized_keys') return 'unknown field';
  if (!issue.message.startsWith('Invalid')) return issue.message;
  if (/received undefined$/.test(issue.message)) return 'is missing';
  if (issue.code === 'invalid_value')
    return `must be one of ${issue.values.map((value) => JSON.stringify(value)).join(', ')}`;
  if (issue.code === 'invalid_type') return `must be of type ${issue.expected}`;
  return 'is of no form that this calculation takes';
}

/** A number that is not finite must never leave a calculation: it would be printed as `null`. */
function assertFinite(value: unknown, path: string): void {
  if (typeof value === 'number' && !Number.isFinite(value)) {
    throw new CalculationError(path, 'cannot be computed from this input: the result is not a finite number');
  }
  if (value !== null && typeof value === 'object') {
    for (const [key, inner] of Object.entries(value)) assertFinite(inner, path ? `${path}.${key}` : key);
  }
}
