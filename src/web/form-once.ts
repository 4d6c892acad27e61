import { randomBytes } from 'node:crypto';
import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import type { Request } from 'express';
import { lastValueFrom, type Observable, of } from 'rxjs';
import { systemClock } from '../base/clock.js';
import { BadInputError } from '../base/errors.js';
import { SentForm, sendForm } from '../store/sent-form.js';
import { Store } from '../store/store.js';
import type { FormAnswer } from './form-answer.js';
import { currentSession } from './identity.js';

/** Field in which a form brings the number that it was shown with. */
export const NUMBER_FIELD = 'form-number';
const NUMBER = /^[\w-]{22}$/;

/** The number of a form that is being shown: 128 random bits, base64url. */
export const formNumber = (): string => randomBytes(16).toString('base64url');

/**
 * Takes each form once. The number is used up in the change that records the act, refusals included; whoever sends the
 * form again is led to where its result stands, and nothing is recorded.
 */
@Injectable()
export class FormOnce implements NestInterceptor {
  /** Forms under way: the second click of two waits for the first. */
  private readonly running = new Map<string, Promise<unknown>>();

  constructor(private readonly store: Store) {}

  async intercept(context: ExecutionContext, next: CallHandler<FormAnswer | string>): Promise<Observable<FormAnswer>> {
    const request = context.switchToHttp().getRequest<Request>();
    const form = new SentForm(currentSession()?.id ?? '', numberIn(request));
    const act = async (): Promise<FormAnswer> => {
      const answer = await lastValueFrom(next.handle());
      return typeof answer === 'string' ? { to: answer } : answer;
    };
    const key = `${form.session} ${form.number}`;
    return of(await this.afterOthers(key, () => this.once(form, () => sendForm(form, act))));
  }

  private async afterOthers<T>(key: string, work: () => Promise<T>): Promise<T> {
    const turn = (this.running.get(key) ?? Promise.resolve()).then(work);
    const ended = turn.catch(() => undefined);
    this.running.set(key, ended);
    try {
      return await turn;
    } finally {
      if (this.running.get(key) === ended) this.running.delete(key);
    }
  }

  private async once(form: SentForm, act: () => Promise<FormAnswer>): Promise<FormAnswer> {
    const before = await this.store.read.identity.resultOfForm(form);
    if (before !== undefined) return { to: before ?? '/' };
    const answer = await act();
    // What failed without a trace may be mended and sent again.
    if (form.isUsed || answer.page === undefined) {
      const now = systemClock.now().toISOString();
      await this.store.change('program', ({ identity }) => identity.rememberResult(form, now, answer.to));
    }
    return answer;
  }
}

/** Takes the number out of a form, whose schema knows its own fields only. */
function numberIn(request: Request): string {
  const { [NUMBER_FIELD]: number, ...fields } = (request.body ?? {}) as Record<string, unknown>;
  request.body = fields;
  if (typeof number === 'string' && NUMBER.test(number)) return number;
  throw new BadInputError([
    {
      code: 'form-number',
      field: NUMBER_FIELD,
      found: number === undefined ? 'none' : 'another text',
      expected: 'the number that the page gave to its form',
      remedy: 'open the page again and send its form',
    },
  ]);
}
