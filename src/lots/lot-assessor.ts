import { Injectable } from '@nestjs/common';
import { type Facts, readFacts } from '../dossier/facts.js';
import { readLotFile } from '../dossier/schema.js';
import { assembleDossier, isStillAs } from '../store/assemble-dossier.js';
import { factsOfDossier } from '../store/frozen-facts.js';
import { Store } from '../store/store.js';
import { assessAgainInWorker, canAssessInWorker, freezeInWorker } from './assess-in-worker.js';
import { CurrentAssessments } from './current-assessments.js';
import type { AssessedLot } from './freeze.js';

export type { AssessedLot };

/** Freezes lots and assesses them. */
@Injectable()
export class LotAssessor {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  /**
   * Freezes the facts of a lot as they stand, assesses them, and stores both. Unchanged facts store nothing.
   * @throws NotFoundError when there is no such lot.
   */
  async assess(lot: string, actor: string): Promise<AssessedLot> {
    if (!this.inWorker) return this.assessHere(lot, actor);
    await this.freeze(lot, actor);
    return (await this.current.whole(lot))!;
  }

  /** The same for whoever needs no more than that it was done. */
  async freeze(lot: string, actor: string): Promise<{ dossierSha256: string; assessmentSha256: string }> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    if (!this.inWorker) return this.assessHere(lot, actor);
    return freezeInWorker({ folder: this.store.folder.path, lot, actor });
  }

  /** Assesses the stored lot file where rules of another version assessed it last; nothing is frozen anew. */
  async assessAgain(lot: string, actor: string): Promise<void> {
    if (this.inWorker) return assessAgainInWorker({ folder: this.store.folder.path, lot, actor });
    const { assessAgain } = await import('./assess-again.js');
    await assessAgain(this.store, lot, actor);
  }

  /** What assesses is loaded by the first that needs it: most commands only read what was said. */
  private async assessHere(lot: string, actor: string): Promise<AssessedLot> {
    const { freezeAndAssess } = await import('./freeze.js');
    return freezeAndAssess(this.store, lot, actor);
  }

  /** A service assesses in a worker, so that it stays responsive; a command in its own thread. */
  private get inWorker(): boolean {
    return this.store.isService && canAssessInWorker();
  }

  /**
   * The facts of a lot: those of its latest stored dossier, or as they stand when none was frozen. Nothing is stored.
   * @throws NotFoundError when there is no such lot.
   */
  async facts(lot: string): Promise<Facts> {
    const stored = await this.store.read.lotFiles.latest(lot);
    if (stored) return factsOfDossier(this.store.read, readLotFile(stored.body));
    return this.factsOfToday(lot);
  }

  /**
   * The facts of a lot as they stand, also where more came in since its latest dossier was stored. Nothing is stored.
   * @throws NotFoundError when there is no such lot.
   */
  async factsNow(lot: string): Promise<Facts> {
    const { read } = this.store;
    const stored = await read.lotFiles.latest(lot);
    const isNow = stored !== undefined && (await isStillAs(read, stored));
    return isNow ? factsOfDossier(read, readLotFile(stored.body)) : this.factsOfToday(lot);
  }

  private async factsOfToday(lot: string): Promise<Facts> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    const frozen = await assembleDossier(this.store.read, lot, this.store.folder.demo);
    return readFacts(frozen.dossier, new Map([...frozen.parts].map(([sha256, { text }]) => [sha256, text])));
  }
}
