import { randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { ImpactAnswer } from './impact-answer.js';

/** Rows of results that are kept at most, of all answers together. */
const MOST_ROWS = 200_000;
const KEPT_MS = 10 * 60_000;

interface Kept {
  readonly address: string;
  readonly answer: ImpactAnswer;
  readonly untilMs: number;
}

/**
 * Answers on impacts that took longer than somebody waits for a page: for some minutes, under the question that was asked.
 * They tell of the audit trail as it was when they were made, and say so.
 */
@Injectable()
export class KeptImpacts {
  private readonly answers = new Map<string, Kept>();

  /** @returns the name under which it is kept for this address. */
  keep(address: string, answer: ImpactAnswer): string {
    const name = randomBytes(16).toString('base64url');
    this.answers.set(name, { address, answer, untilMs: performance.now() + KEPT_MS });
    let rows = [...this.answers.values()].reduce((sum, one) => sum + one.answer.results.length, 0);
    for (const [oldest, one] of this.answers) {
      const isOver = one.untilMs < performance.now() || rows > MOST_ROWS;
      if (!isOver || oldest === name) break;
      this.answers.delete(oldest);
      rows -= one.answer.results.length;
    }
    return name;
  }

  /** Undefined when it is not at hand any more, or answers another question. */
  of(name: string, address: string): ImpactAnswer | undefined {
    const found = this.answers.get(name);
    if (found === undefined || found.address !== address || found.untilMs < performance.now()) return undefined;
    return found.answer;
  }
}
