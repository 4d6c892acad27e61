import { DAILY_CHECK } from '../report/phrases/commands/custody.js';
import type { Store } from '../store/store.js';
import { checkApart } from './check-apart.js';

const DAY_MS = 24 * 3_600_000;
/** The service starts in peace; then it looks now and then whether a day has gone by. */
const FIRST_LOOK_MS = 60_000;
const LOOK_EVERY_MS = 15 * 60_000;
export interface DailyCheckOptions {
  readonly firstLookMs?: number;
  readonly lookEveryMs?: number;
  /** Told of a check that could not be made, and of one that found faults. */
  readonly onTrouble: (says: string) => void;
}

/**
 * Checks the integrity of a data folder once a day while a service runs on it.
 */
export class DailyCheck {
  private timer: NodeJS.Timeout | undefined;
  private running: AbortController | undefined;

  constructor(
    private readonly store: Store,
    private readonly options: DailyCheckOptions,
  ) {}

  start(): void {
    this.lookIn(this.options.firstLookMs ?? FIRST_LOOK_MS);
  }

  stop(): void {
    clearTimeout(this.timer);
    this.timer = undefined;
    this.running?.abort();
  }

  private lookIn(ms: number): void {
    this.timer = setTimeout(async () => {
      try {
        // Of several instances one does it: the others find it done when they next look.
        if (await this.isDue()) await this.store.leases.ifFree('check', () => this.checkIfDue());
      } catch (error) {
        this.options.onTrouble(DAILY_CHECK.notMade((error as Error).message));
      }
      if (this.timer !== undefined) this.lookIn(this.options.lookEveryMs ?? LOOK_EVERY_MS);
    }, ms);
    this.timer.unref();
  }

  private async isDue(): Promise<boolean> {
    const last = (await this.store.read.events.ofTypes(['integrity-checked'])).at(-1);
    return last === undefined || this.store.clock.now().getTime() - Date.parse(last.at) >= DAY_MS;
  }

  private async checkIfDue(): Promise<void> {
    if (await this.isDue()) await this.check();
  }

  private async check(): Promise<void> {
    this.running = new AbortController();
    try {
      if (await checkApart(this.store, this.running.signal)) this.options.onTrouble(DAILY_CHECK.faults);
    } finally {
      this.running = undefined;
    }
  }
}
