import { READS } from '../report/phrases/reads.js';
import type { Store } from '../store/store.js';

const EVERY_MS = 15 * 60_000;

/**
 * Tells the audit trail, while a service runs and when it ends, how far the files are in which it notes who read what. A
 * program that ended suddenly is made up for at the next start.
 */
export class ReadHeads {
  private timer: NodeJS.Timeout | undefined;

  /** @param onTrouble told when the audit trail could not be. */
  constructor(
    private readonly store: Store,
    private readonly onTrouble: (says: string) => void,
  ) {}

  async start(everyMs = EVERY_MS): Promise<void> {
    const heads = await this.store.read.events.readsHeads();
    this.store.reads.takeUp(new Map([...heads].map(([file, told]) => [file, told.at(-1)!.bytes])));
    this.timer = setInterval(() => void this.tell(), everyMs);
    this.timer.unref();
  }

  /** What was read since is told, or named as not told: it is made up for by the next start. */
  async tell(): Promise<void> {
    const heads = this.store.reads.takeHeads();
    if (heads.length === 0) return;
    try {
      await this.store.change('program', async (change) => {
        for (const head of heads) await change.events.add({ type: 'reads-noted', ...head });
      });
    } catch (error) {
      this.onTrouble(READS.notTold((error as Error).message));
    }
  }

  async stop(): Promise<void> {
    clearInterval(this.timer);
    await this.tell();
  }
}
