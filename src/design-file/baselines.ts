import { Injectable } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import { asMembers, draftsAmong } from '../design-history/baselines.js';
import { Intake } from '../intake/intake.js';
import type { Baseline } from '../kinds/design-history/baseline.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { Store } from '../store/store.js';
import { type AsOf, nowAsOf } from './as-of.js';
import { DesignAnswers } from './design-answers.js';

/** Freezes designs. */
@Injectable()
export class Baselines {
  constructor(
    private readonly store: Store,
    private readonly answers: DesignAnswers,
    private readonly intake: Intake,
  ) {}

  /**
   * Takes a baseline in of what the design consisted of at a moment. People sign it like any document.
   * @param name of it within the family.
   * @throws NotFoundError without such a family; AppError REFUSED while something in it is a draft, where nothing is in it,
   *   and for a name that another baseline has.
   */
  async freeze(family: string, name: string, actor: string, asked?: AsOf): Promise<Baseline> {
    const asOf = asked ?? (await nowAsOf(this.store));
    const { hasHistory, members: found } = await this.answers.ask('members', { family, asOf });
    if (!hasHistory) throw new AppError('REFUSED', BASELINE_LINES.nothing(family, asOf.day));
    const drafts = draftsAmong(found);
    if (drafts.length > 0) throw new AppError('REFUSED', BASELINE_LINES.drafts(drafts));
    if ((await this.store.read.entries.current('baseline', `${family}:${name}`)) !== undefined) {
      throw new AppError('REFUSED', BASELINE_LINES.taken(family, name));
    }
    const document: Baseline = {
      ...{ kind: 'baseline', format: 1, family, name, members: asMembers(found) },
      asOf: { entries: asOf.size, root: await this.store.read.ledger.root(asOf.size) },
    };
    await this.intake.take([{ file: 'baseline.yaml', document }], actor);
    return document;
  }
}
