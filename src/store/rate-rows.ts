import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** Requests of one minute, as instances counted them. The table changes in place, and makes no entry in the audit trail. */
export class RateRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** What all instances together counted in a window, by a code of whom. */
  async of(window: string): Promise<Map<string, number>> {
    const rows = await this.db.ask(this.db.sql.RATES, window);
    return new Map(rows.map(({ name, count }) => [name, Number(count)]));
  }

  /** Adds what one instance counted, and forgets windows before this one. */
  async add(
    this: RateRows<Recorder>,
    window: string,
    instance: string,
    counted: ReadonlyMap<string, number>,
  ): Promise<void> {
    await this.db.tell(this.db.sql.RATES_DROP, window);
    for (const [name, count] of counted) await this.db.tell(this.db.sql.RATE_ADD, window, name, instance, count);
  }
}
