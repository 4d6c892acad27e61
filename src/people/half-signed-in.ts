import { randomBytes } from 'node:crypto';
import { AppError } from '../base/errors.js';
import { Proof } from './proof.js';

/** Long enough to find a passkey and a finger for it. */
const WAIT_MS = 3 * 60_000;
const MOST_WAITING = 200;

interface Waiting {
  readonly proof: Proof;
  readonly timer: NodeJS.Timeout;
}

/**
 * People who have shown their password and are asked for their passkey: they are not signed in. It is kept in memory alone,
 * and what opens their key is wiped when they come no more.
 */
export class HalfSignedIn {
  private readonly waiting = new Map<string, Waiting>();

  /** @returns 256 random bits, base64url, with which the proof is taken once. */
  keep(proof: Proof): string {
    if (this.waiting.size >= MOST_WAITING) this.drop(this.waiting.keys().next().value!);
    const ticket = randomBytes(32).toString('base64url');
    const timer = setTimeout(() => this.drop(ticket), WAIT_MS);
    timer.unref();
    this.waiting.set(ticket, { proof, timer });
    return ticket;
  }

  /** @throws AppError REFUSED for a ticket that is unknown, was used or ran out. */
  take(ticket: string): Proof {
    const found = this.waiting.get(ticket);
    if (!found) throw new AppError('REFUSED', 'that took too long, or was done before: sign in once more');
    clearTimeout(found.timer);
    this.waiting.delete(ticket);
    return found.proof;
  }

  private drop(ticket: string): void {
    const found = this.waiting.get(ticket);
    if (!found) return;
    clearTimeout(found.timer);
    this.waiting.delete(ticket);
    Proof.spend(found.proof);
  }
}
