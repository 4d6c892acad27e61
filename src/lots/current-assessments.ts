import { Injectable } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { PART_NAMES, readFacts } from '../dossier/facts.js';
import { readLotFile } from '../dossier/schema.js';
import { Store } from '../store/store.js';
import { type AssessedUnits, assessedUnits } from './assessed-units.js';
import { type CurrentAssessment, currentAssessment } from './current-assessment.js';
import type { AssessedLot } from './freeze.js';

/**
 * What is said of each lot now, for every list, page, command and answer: the stored assessment of its latest lot file by
 * the rules of this program. Where these have not assessed it yet, it is the last one by an earlier version, and marked so.
 * Nothing is assessed here.
 */
@Injectable()
export class CurrentAssessments {
  constructor(private readonly store: Store) {}

  /** What is said of the units of each lot, or of one, asked once for all of them. */
  units(lot?: string): Promise<ReadonlyMap<string, AssessedUnits>> {
    return assessedUnits(this.store.read, lot);
  }

  assessmentOf(lot: string): Promise<CurrentAssessment | undefined> {
    return currentAssessment(this.store.read, lot);
  }

  /**
   * The same with the facts that it is of. The log summaries stay in the store: `parts` lacks them and `facts` refuses them.
   * @throws NotFoundError when there is no such lot.
   */
  of(lot: string): Promise<AssessedLot | undefined> {
    return this.withFacts(lot, 'without summaries');
  }

  /** The same with every part. */
  whole(lot: string): Promise<AssessedLot | undefined> {
    return this.withFacts(lot, 'whole');
  }

  private async withFacts(lot: string, extent: 'whole' | 'without summaries'): Promise<AssessedLot | undefined> {
    const current = await this.assessmentOf(lot);
    const stored = current && (await this.store.read.lotFiles.byDigest(current.dossierSha256));
    if (!stored) {
      if (!(await this.store.read.entries.current('lot', lot))) throw new NotFoundError('lot', lot);
      return undefined;
    }
    const dossier = readLotFile(stored.body);
    const withoutSummaries = extent === 'without summaries';
    const wanted = dossier.parts.filter((part) => !withoutSummaries || part.name !== PART_NAMES.summaries);
    const parts = await this.store.read.lotFiles.parts(wanted.map((part) => part.sha256));
    return { ...current, facts: readFacts(dossier, parts, { withoutSummaries }), dossierText: stored.body, parts };
  }
}
