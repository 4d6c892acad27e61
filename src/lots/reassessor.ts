import { Injectable } from '@nestjs/common';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { Store } from '../store/store.js';
import { LotAssessor } from './lot-assessor.js';

const ACTOR = 'program';

/**
 * After an upgrade: assesses every lot again that rules of another version assessed last, decided ones too, one after
 * another, while the service serves. What is cut off is taken up at the next start.
 */
@Injectable()
export class Reassessor {
  private working: Promise<void> = Promise.resolve();
  private isClosed = false;
  private readonly failed: string[] = [];

  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /** Lots that could not be assessed again, in words, since the start. */
  get troubles(): readonly string[] {
    return this.failed;
  }

  /** @param onTrouble told of each lot that could not be assessed. */
  start(onTrouble: (says: string) => void): void {
    this.working = this.run(onTrouble).catch((error) =>
      onTrouble(`lots could not be assessed again: ${messageOf(error)}`),
    );
  }

  /** Ends after the lot that is being assessed. */
  async close(): Promise<void> {
    this.isClosed = true;
    await this.working;
  }

  /** Settles when no lot is left. */
  async run(onTrouble: (says: string) => void): Promise<void> {
    for (const lot of await this.store.read.assessments.lotsLastAssessedByOthers(ASSESSMENT_VERSION)) {
      if (this.isClosed) return;
      try {
        await this.assessor.assessAgain(lot, ACTOR);
      } catch (error) {
        const says = `lot ${lot} could not be assessed again: ${messageOf(error)}`;
        this.failed.push(says);
        onTrouble(says);
      }
    }
  }
}

const messageOf = (error: unknown): string => (error as Error).message;
