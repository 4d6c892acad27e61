import { Injectable } from '@nestjs/common';
import { assess } from '../assessment/assess.js';
import { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { NotFoundError } from '../base/errors.js';
import { type Facts, PART_NAMES, readFacts } from '../dossier/facts.js';
import { Dossier } from '../dossier/schema.js';
import { assembleDossier } from '../store/assemble-dossier.js';
import { factsOfDossier } from '../store/frozen-facts.js';
import { Store } from '../store/store.js';
import { assessInWorker, canAssessInWorker } from './assess-in-worker.js';
import { type AssessedLot, freezeAndAssess } from './freeze.js';

export type { AssessedLot };

/** Freezes lots and assesses them. */
@Injectable()
export class LotAssessor {
  constructor(private readonly store: Store) {}

  /**
   * Freezes the facts of a lot as they stand, assesses them, and stores both. Unchanged facts store nothing.
   * @throws NotFoundError when there is no such lot.
   */
  async assess(lot: string, actor: string): Promise<AssessedLot> {
    if (!this.inWorker) return freezeAndAssess(this.store, lot, actor);
    await this.freeze(lot, actor);
    return (await this.stored(lot, 'whole'))!;
  }

  /** The same for whoever needs no more than that it was done. */
  async freeze(lot: string, actor: string): Promise<{ dossierSha256: string; assessmentSha256: string }> {
    await this.store.read.currentOrThrow('lot', lot);
    if (!this.inWorker) return freezeAndAssess(this.store, lot, actor);
    return assessInWorker({ folder: this.store.folder.path, lot, actor });
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
    const stored = await this.store.read.latestDossier(lot);
    if (stored) return factsOfDossier(this.store.read, Dossier.parse(JSON.parse(stored.body)));
    await this.store.read.currentOrThrow('lot', lot);
    const frozen = await assembleDossier(this.store.read, lot, this.store.folder.demo);
    return readFacts(frozen.dossier, new Map([...frozen.parts].map(([sha256, { text }]) => [sha256, text])));
  }

  /**
   * The latest stored dossier of a lot with its assessment, made again where another version of the program made it;
   * undefined when none was frozen. The log summaries stay in the store: `parts` lacks them and `facts` refuses them.
   * @throws NotFoundError when there is no such lot.
   */
  async latest(lot: string): Promise<AssessedLot | undefined> {
    return this.stored(lot, 'without summaries');
  }

  private async stored(lot: string, extent: 'whole' | 'without summaries'): Promise<AssessedLot | undefined> {
    const stored = await this.store.read.latestDossier(lot);
    if (!stored) {
      if (!(await this.store.read.current('lot', lot))) throw new NotFoundError('lot', lot);
      return undefined;
    }
    const dossier = Dossier.parse(JSON.parse(stored.body));
    const withoutSummaries = extent === 'without summaries';
    const wanted = dossier.parts.filter((part) => !withoutSummaries || part.name !== PART_NAMES.summaries);
    const parts = await this.store.read.parts(wanted.map((part) => part.sha256));
    const facts = readFacts(dossier, parts, { withoutSummaries });
    const saved = await this.store.read.latestAssessment(lot);
    return {
      facts,
      dossierText: stored.body,
      dossierSha256: stored.digest,
      parts,
      assessment: storedAssessment(saved?.body, stored.digest) ?? assess(facts, ASSESSMENT_VERSION),
      assessmentSha256: saved?.digest ?? '',
    };
  }
}

/** What these very rules came to of this very dossier is what it would say again. */
function storedAssessment(body: string | undefined, dossierSha256: string): Assessment | undefined {
  if (body === undefined) return undefined;
  const saved = JSON.parse(body) as Partial<Assessment>;
  return saved.version === ASSESSMENT_VERSION && saved.dossierSha256 === dossierSha256
    ? Assessment.parse(saved)
    : undefined;
}
