import type { Response } from 'express';
import { explained } from '../base/disk-trouble.js';
import { AppError, BadInputError, type ErrorCode, type Problem } from '../base/errors.js';

/** The one table from what went wrong to what HTTP says of it. Pages, API and API documentation read it. */
export const HTTP_PROBLEMS: Readonly<Record<ErrorCode, { readonly status: number; readonly title: string }>> = {
  BAD_INPUT: { status: 400, title: 'The request cannot be understood' },
  CALCULATION_INPUT: { status: 422, title: 'The calculation cannot be done with this input' },
  NOT_FOUND: { status: 404, title: 'There is no such thing' },
  NOT_SIGNED_IN: { status: 401, title: 'Nobody is signed in' },
  REFUSED: { status: 403, title: 'Refused' },
  LOCKED: { status: 429, title: 'Too many attempts failed' },
  CONFLICT: { status: 409, title: 'Something else happened meanwhile' },
  BUSY: { status: 503, title: 'Busy' },
  ALTERED: { status: 500, title: 'Stored data were altered' },
  STORAGE: { status: 507, title: 'The disk does not take or give the data' },
  TOO_MANY: { status: 429, title: 'Too many requests' },
  UNEXPECTED: { status: 500, title: 'Something went wrong in the program' },
};

/** Problem details of RFC 9457, with our own members `code` and whatever facts the error carries. */
export interface HttpProblem {
  readonly type: string;
  readonly title: string;
  readonly status: number;
  readonly detail: string;
  readonly code: ErrorCode;
  readonly facts: Readonly<Record<string, unknown>>;
}

/** Says when to try again, where an error knows how many seconds that takes. */
export function setRetryAfter(response: Response, { waitS }: Readonly<Record<string, unknown>>): void {
  if (typeof waitS === 'number') response.setHeader('Retry-After', String(waitS));
}

/** Where the API page explains a code. */
export const problemType = (code: ErrorCode): string => `/api#problem-${code.toLowerCase().replaceAll('_', '-')}`;

export function problemOf(raised: unknown, path: string): HttpProblem {
  const error = explained(raised);
  if (error instanceof AppError) {
    const detail = error instanceof BadInputError ? countText(error.problems) : error.message;
    return problem(error.code, detail, error.facts);
  }
  const status = statusOf(error);
  if (status === 404) return problem('NOT_FOUND', `there is nothing at ${path}`);
  if (status !== undefined) return { ...problem('BAD_INPUT', (error as Error).message), status };
  return problem('UNEXPECTED', 'the log of the service says more');
}

function problem(code: ErrorCode, detail: string, facts: Readonly<Record<string, unknown>> = {}): HttpProblem {
  return { type: problemType(code), ...HTTP_PROBLEMS[code], detail, code, facts };
}

const countText = (problems: readonly Problem[]): string =>
  problems.length === 1
    ? 'one thing is wrong with what was sent'
    : `${problems.length} things are wrong with what was sent`;

/** Status of an error that the framework or a body parser raised because of the request; undefined for any other. */
function statusOf(error: unknown): number | undefined {
  const { status } = error as { status?: unknown };
  return typeof status === 'number' && status >= 400 && status < 500 ? status : undefined;
}
