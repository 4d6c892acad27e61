import { Injectable } from '@nestjs/common';
import { notAssessedAgainText } from '../report/phrases/earlier-version.js';
import { Store } from '../store/store.js';
import { lotsToAssessAgain } from './earlier-assessment.js';
import { LotAssessor } from './lot-assessor.js';

const ACTOR = 'program';
/** After this time what failed is tried again: another program may have held the folder, or somebody mended the lot. */
const AGAIN_MS = 60_000;
/** Stands for all lots where it could not even be asked which there are. */
const ALL = '';

type OnTrouble = (says: string) => void;

/**
 * After an upgrade: assesses every lot again that rules of another version assessed last, decided ones too, one after
 * another, while the service serves. What failed is tried again; what is cut off is taken up at the next start.
 */
@Injectable()
export class Reassessor {
  private working: Promise<void> = Promise.resolve();
  private timer: NodeJS.Timeout | undefined;
  private isClosed = false;
  private readonly failed = new Map<string, string>();

  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /** Lots that could not be assessed again and still wait for it, in words. */
  get troubles(): readonly string[] {
    return [...this.failed.values()];
  }

  /** @param onTrouble told of each lot that could not be assessed, once for each reason. */
  start(onTrouble: OnTrouble, againMs = AGAIN_MS): void {
    this.working = this.run(onTrouble).then(() => {
      if (this.isClosed || this.failed.size === 0) return;
      this.timer = setTimeout(() => this.start(onTrouble, againMs), againMs);
      this.timer.unref();
    });
  }

  /** Ends after the lot that is being assessed. */
  async close(): Promise<void> {
    this.isClosed = true;
    clearTimeout(this.timer);
    await this.working;
  }

  /** Settles when no lot is left that was not tried. */
  async run(onTrouble: OnTrouble): Promise<void> {
    let lots: readonly string[] = [];
    await this.attempt(ALL, onTrouble, async () => {
      lots = await lotsToAssessAgain(this.store.read);
    });
    // What was assessed meanwhile, as by a command, waits no more.
    if (!this.failed.has(ALL)) for (const lot of this.failed.keys()) if (!lots.includes(lot)) this.failed.delete(lot);
    for (const lot of lots) {
      if (this.isClosed) return;
      await this.attempt(lot, onTrouble, () => this.assessAgain(lot));
    }
  }

  /** Another instance on the same database may be at the same lot, or have done it since the list was made. */
  private async assessAgain(lot: string): Promise<void> {
    await this.store.leases.ifFree(`assess:${lot}`, async () => {
      if ((await lotsToAssessAgain(this.store.read)).includes(lot)) await this.assessor.assessAgain(lot, ACTOR);
    });
  }

  private async attempt(lot: string, onTrouble: OnTrouble, act: () => Promise<void>): Promise<void> {
    try {
      await act();
      this.failed.delete(lot);
    } catch (error) {
      const says = notAssessedAgainText(lot, (error as Error).message);
      if (this.failed.get(lot) === says) return;
      this.failed.set(lot, says);
      onTrouble(says);
    }
  }
}
