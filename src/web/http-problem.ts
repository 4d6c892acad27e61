import type { Response } from 'express';
import { explained } from '../base/disk-trouble.js';
import { AppError, BadInputError, type ErrorCode } from '../base/errors.js';
import { PROBLEM_TITLES, PROBLEMS } from '../report/phrases/problems.js';

/** The one table from what went wrong to what HTTP says of it. Pages, API and API documentation read it. */
export const HTTP_STATUS: Readonly<Record<ErrorCode, number>> = {
  BAD_INPUT: 400,
  CALCULATION_INPUT: 422,
  NOT_FOUND: 404,
  NOT_SIGNED_IN: 401,
  REFUSED: 403,
  LOCKED: 429,
  CONFLICT: 409,
  BUSY: 503,
  ALTERED: 500,
  LATER_FORM: 501,
  STORAGE: 507,
  TOO_MANY: 429,
  UNEXPECTED: 500,
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
    const detail = error instanceof BadInputError ? PROBLEMS.count(error.problems.length) : error.message;
    return problem(error.code, detail, error.facts);
  }
  const status = statusOf(error);
  if (status === 404) return problem('NOT_FOUND', PROBLEMS.nothingAt(path));
  if (status !== undefined) return { ...problem('BAD_INPUT', (error as Error).message), status };
  return problem('UNEXPECTED', PROBLEMS.seeLog);
}

function problem(code: ErrorCode, detail: string, facts: Readonly<Record<string, unknown>> = {}): HttpProblem {
  return { type: problemType(code), title: PROBLEM_TITLES[code], status: HTTP_STATUS[code], detail, code, facts };
}

/** Status of an error that the framework or a body parser raised because of the request; undefined for any other. */
function statusOf(error: unknown): number | undefined {
  const { status } = error as { status?: unknown };
  return typeof status === 'number' && status >= 400 && status < 500 ? status : undefined;
}
