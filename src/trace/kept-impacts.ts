import { randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { ImpactAnswer } from './impact-answer.js';

/** Answers that are still at hand: each names many results. */
const KEPT = 20;

/** Answers on impacts that took longer than somebody waits for a page, until they are read. */
@Injectable()
export class KeptImpacts {
  private readonly answers = new Map<string, ImpactAnswer>();

  /** @returns the name under which it is kept. */
  keep(answer: ImpactAnswer): string {
    const name = randomBytes(16).toString('base64url');
    this.answers.set(name, answer);
    for (const oldest of this.answers.keys()) {
      if (this.answers.size <= KEPT) break;
      this.answers.delete(oldest);
    }
    return name;
  }

  /** Undefined when it is not at hand any more. */
  of(name: string): ImpactAnswer | undefined {
    return this.answers.get(name);
  }
}
