import { Injectable } from '@nestjs/common';
import { Store } from '../store/store.js';

const EXCHANGE_MS = 1000;
export const WINDOW_MS = 60_000;
/** Of a limit: what is less at one instance tells the others nothing. */
const WORTH_TELLING = 1 / 16;

/**
 * What other instances on the same database counted of the same minute, by address. They tell one another once a second, and
 * only of whoever asks for much: so together they let through no more than one of them would, but for what comes in that second
 * and a sixteenth of the limit for each.
 */
@Injectable()
export class SharedRates {
  private timer: NodeJS.Timeout | undefined;
  private window = '';
  /** By a code, as no address stands in the database. */
  private counted = new Map<string, number>();
  private told = new Map<string, number>();
  private all: ReadonlyMap<string, number> = new Map();

  constructor(private readonly store: Store) {}

  start(): void {
    if (!this.store.isShared) return;
    this.timer = setInterval(() => {
      // Until it is told again each instance counts for itself.
      this.exchange().catch(() => undefined);
    }, EXCHANGE_MS);
    this.timer.unref();
  }

  stop(): void {
    clearInterval(this.timer);
  }

  /** @param count of this instance, of somebody in the minute that began at `startMs`. @returns that of the others. */
  others(startMs: number, key: string, count: number, limit: number): number {
    if (!this.store.isShared) return 0;
    const window = new Date(startMs).toISOString();
    if (window !== this.window) {
      this.window = window;
      this.counted = new Map();
      this.told = new Map();
      this.all = new Map();
    }
    const name = this.store.secret.code('where from', 'rate', key);
    if (count >= limit * WORTH_TELLING) this.counted.set(name, count);
    return (this.all.get(name) ?? 0) - (this.told.get(name) ?? 0);
  }

  /** Tells what was counted here since the last time, and learns what was counted elsewhere. */
  async exchange(): Promise<void> {
    const { window, told } = this;
    if (window === '') return;
    const fresh = new Map<string, number>();
    for (const [name, count] of this.counted) {
      const more = count - (told.get(name) ?? 0);
      if (more > 0) fresh.set(name, more);
    }
    if (fresh.size > 0) {
      await this.store.change('program', ({ rates }) => rates.add(window, this.store.leases.instance, fresh));
    }
    const all = await this.store.read.rates.of(window);
    if (window !== this.window) return;
    for (const [name, more] of fresh) told.set(name, (told.get(name) ?? 0) + more);
    this.all = all;
  }
}
