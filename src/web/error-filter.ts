import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import type { Request, Response } from 'express';
import type { Logger } from 'pino';
import { BadInputError, problemText } from '../base/errors.js';
import { type HttpProblem, problemOf, setRetryAfter } from './http-problem.js';
import { faultForLog, routeForLog } from './log.js';
import { Pages } from './pages.js';
import { SAFE_METHODS } from './request-checks.js';
import { logOf } from './request-log.js';

export const API_ROOT = '/api/v1';

/** Turns every error into problem details for programs, or into a page for people, who are led to the sign-in page first. */
@Catch()
export class ErrorFilter implements ExceptionFilter {
  constructor(
    private readonly pages: Pages,
    private readonly log: Logger,
  ) {}

  catch(error: unknown, host: ArgumentsHost): void {
    const request = host.switchToHttp().getRequest<Request>();
    const response = host.switchToHttp().getResponse<Response>();
    const problem = problemOf(error, request.path);
    if (problem.status >= 500) {
      const log = logOf(response) ?? this.log;
      // Who is asked to come again later met no fault.
      const level = problem.code === 'BUSY' ? 'warn' : 'error';
      log[level]({ fault: faultForLog(error), method: request.method, path: routeForLog(request) });
    }
    if (response.headersSent) {
      response.destroy();
      return;
    }
    response.status(problem.status);
    setRetryAfter(response, problem.facts);
    // Headers of a download that failed before its first byte do not fit the answer that comes instead.
    for (const name of ['content-disposition', 'content-length', 'etag']) response.removeHeader(name);
    response.setHeader('Cache-Control', 'no-store');
    if (wantsSignIn(problem, request)) {
      const { next = request.originalUrl } = problem.facts as { next?: string };
      const wanted = next === '/' ? '' : `?next=${encodeURIComponent(next)}`;
      response.redirect(303, `/sign-in${wanted}`);
    } else if (isApi(request)) sendDetails(response, problem, request.path);
    else response.type('html').send(this.page(problem, error));
  }

  private page(problem: HttpProblem, error: unknown): string {
    const problems = error instanceof BadInputError ? error.problems.map(problemText) : [];
    return this.pages.render('error', problem.title, { problem, problems });
  }
}

const isApi = ({ path }: Request): boolean => path.startsWith(`${API_ROOT}/`);

/** Whoever asked for a page. A change is not repeated after signing in, so it is refused, but where it is kept as a draft. */
const wantsSignIn = ({ code, facts }: HttpProblem, request: Request): boolean =>
  code === 'NOT_SIGNED_IN' && !isApi(request) && (SAFE_METHODS.has(request.method) || facts?.next !== undefined);

function sendDetails(response: Response, { facts, ...members }: HttpProblem, instance: string): void {
  response.type('application/problem+json').send(JSON.stringify({ ...facts, ...members, instance }));
}
