import { setTimeout as sleep } from 'node:timers/promises';
import { Injectable } from '@nestjs/common';
import type { NextFunction, Request, Response } from 'express';

/** Upper bounds in seconds of how long answers took: the budgets of pages among them. */
export const ANSWERED_WITHIN_S = [0.05, 0.15, 0.3, 1, 5, 30] as const;

const LOOK_EVERY_MS = 20;

/** How many answers of one method were given, and how long they took. */
export interface Answered {
  readonly byStatus: Map<number, number>;
  /** For each bound of `ANSWERED_WITHIN_S` the answers that came within it and not within the one before; the last is of all others. */
  readonly within: number[];
  seconds: number;
}

/** What is asked of the service: what is being answered now, and what was answered since the start. */
@Injectable()
export class Traffic {
  readonly answered = new Map<string, Answered>();
  private open = 0;
  /** Of those, what was asked before the service was told to end. */
  private acts = 0;
  private isEnding = false;

  get openRequests(): number {
    return this.open;
  }

  /** Whether the service was told to end. */
  get isDraining(): boolean {
    return this.isEnding;
  }

  /** Counts each request from its first line until its answer was sent, or its line was cut. */
  count() {
    return (request: Request, response: Response, next: NextFunction): void => {
      const begun = performance.now();
      this.open += 1;
      const isAct = !this.isEnding;
      if (isAct) this.acts += 1;
      // Whoever keeps its line open would go on asking an instance that ends.
      if (this.isEnding) response.setHeader('Connection', 'close');
      response.once('close', () => {
        this.open -= 1;
        if (isAct) this.acts -= 1;
        this.note(request.method, response.statusCode, (performance.now() - begun) / 1000);
      });
      next();
    };
  }

  /**
   * Waits until everything is answered that was asked before. What is asked from now on is refused (src/web/standing.ts).
   * @param mostMs gives up after that time: what is left is cut off.
   */
  async drain(mostMs: number): Promise<void> {
    this.isEnding = true;
    const until = performance.now() + mostMs;
    while (this.acts > 0 && performance.now() < until) await sleep(LOOK_EVERY_MS);
  }

  private note(method: string, status: number, seconds: number): void {
    let answered = this.answered.get(method);
    if (!answered) {
      answered = { byStatus: new Map(), within: Array(ANSWERED_WITHIN_S.length + 1).fill(0), seconds: 0 };
      this.answered.set(method, answered);
    }
    answered.byStatus.set(status, (answered.byStatus.get(status) ?? 0) + 1);
    const bound = ANSWERED_WITHIN_S.findIndex((most) => seconds <= most);
    answered.within[bound === -1 ? ANSWERED_WITHIN_S.length : bound]! += 1;
    answered.seconds += seconds;
  }
}
