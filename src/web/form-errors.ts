import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { capital } from '../report/phrases/capital.js';
import { foundText } from '../report/phrases/entry-forms.js';
import { FORM_ASKS } from '../report/phrases/form-labels.js';

/** One thing that is wrong with a form, as its page lists it at the top. */
export interface FormError {
  /** Name of the field that the line leads to; null when no single field is to blame. */
  readonly field: string | null;
  readonly says: string;
}

/** What a form asks for in each of its fields, where a person left one empty or named nothing. */
type Asks = Readonly<Record<string, string>>;

/**
 * What a person is told of an error beside the form that they sent, so that nothing typed is lost.
 * @param labels what the page calls each field.
 * @throws the error itself when the form is not to blame.
 */
export function formErrors(
  error: unknown,
  labels: Readonly<Record<string, string>>,
  asks: Asks = FORM_ASKS,
): FormError[] {
  if (error instanceof BadInputError) return error.problems.map((problem) => formError(problem, labels, asks));
  if (error instanceof AppError && ['REFUSED', 'LOCKED', 'CONFLICT', 'NOT_FOUND'].includes(error.code)) {
    return [{ field: null, says: capital(error.message) }];
  }
  throw error;
}

function formError(
  { field, found, expected, remedy }: Problem,
  labels: Readonly<Record<string, string>>,
  asks: Asks,
): FormError {
  if (field !== undefined && labels[field] !== undefined && isNothing(found) && Object.hasOwn(asks, field)) {
    return { field, says: asks[field]! };
  }
  const label = field === undefined ? undefined : labels[field];
  const says = `${label === undefined ? '' : `${label}: `}${foundText(found, expected)}; ${remedy}`;
  return { field: label === undefined ? null : field!, says: capital(says) };
}

/** Whether nothing was given: acts say so of what they found, and a schema of what it got. */
const isNothing = (found: string | undefined): boolean => found === 'none' || found === 'nothing';
