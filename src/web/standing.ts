import { Injectable } from '@nestjs/common';
import type { NextFunction, Request, Response } from 'express';
import { AppError } from '../base/errors.js';
import { ENDING } from '../report/phrases/metrics.js';
import { Store } from '../store/store.js';
import { Traffic } from './traffic.js';

const LOOK_MS = 3000;
/** After so long another instance has this one's place, or a proxy knows that it has not. */
const AGAIN_S = 5;
/** Asked by whatever sends requests here, also when none should be. */
const ASKED_ALWAYS: ReadonlySet<string> = new Set(['/health', '/ready', '/metrics']);

/** Whether this instance may answer: it does not end, no newer program changed the database, and its clock is right. */
@Injectable()
export class Standing {
  private timer: NodeJS.Timeout | undefined;
  private trouble: string | undefined;

  constructor(
    private readonly store: Store,
    private readonly traffic: Traffic,
  ) {}

  /** Looks now and then: each change looks for itself. */
  start(): void {
    this.timer = setInterval(() => {
      // A database that does not answer is told by whoever asks it something.
      this.look().catch(() => undefined);
    }, LOOK_MS);
    this.timer.unref();
  }

  stop(): void {
    clearInterval(this.timer);
  }

  /** @returns why it may not answer, as far as the database tells. */
  async look(): Promise<string | undefined> {
    const { older, skew } = await this.store.instances.troubles();
    this.trouble = older ?? skew;
    return this.trouble;
  }

  /** Refuses what comes with 503, and when to come again. */
  guard() {
    return (request: Request, _response: Response, next: NextFunction): void => {
      const why = this.traffic.isDraining ? ENDING : this.trouble;
      if (why === undefined || ASKED_ALWAYS.has(request.path)) next();
      else next(new AppError('BUSY', why, { waitS: AGAIN_S }));
    };
  }
}
