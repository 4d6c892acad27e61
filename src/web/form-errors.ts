import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { capital } from '../report/phrases/capital.js';

/** One thing that is wrong with a form, as its page lists it at the top. */
export interface FormError {
  /** Name of the field that the line leads to; null when no single field is to blame. */
  readonly field: string | null;
  readonly says: string;
}

/**
 * What a person is told of an error beside the form that they sent, so that nothing typed is lost.
 * @param labels what the page calls each field.
 * @throws the error itself when the form is not to blame.
 */
export function formErrors(error: unknown, labels: Readonly<Record<string, string>>): FormError[] {
  if (error instanceof BadInputError) return error.problems.map((problem) => formError(problem, labels));
  if (error instanceof AppError && ['REFUSED', 'LOCKED', 'CONFLICT', 'NOT_FOUND'].includes(error.code)) {
    return [{ field: null, says: capital(error.message) }];
  }
  throw error;
}

function formError({ field, found, expected, remedy }: Problem, labels: Readonly<Record<string, string>>): FormError {
  const label = field === undefined ? undefined : labels[field];
  const seen = found === undefined ? '' : `found ${found}; `;
  const says = `${label === undefined ? '' : `${label}: `}${seen}expected ${expected}; ${remedy}`;
  return { field: label === undefined ? null : field!, says: capital(says) };
}
