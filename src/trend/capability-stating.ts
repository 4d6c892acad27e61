import { Injectable } from '@nestjs/common';
import { type CapabilityStatement, statementOf, statesAnIndex } from '../assessment/family/statement.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Studied, Window } from '../lots/family-studies.js';
import { TREND_STATEMENT } from '../report/phrases/trend-statement.js';
import { Store } from '../store/store.js';
import { FamilyTrend } from './family-trend.js';

export interface StatedCapability {
  readonly digest: string;
  /** Canonical JSON of the statement. */
  readonly text: string;
  readonly number: number;
  /** The same was stated before: nothing was stored. */
  readonly known: boolean;
}

/** Freezes what a family is able to, with all that it rests on, so that anybody can compute it again. */
@Injectable()
export class CapabilityStating {
  constructor(
    private readonly store: Store,
    private readonly trend: FamilyTrend,
  ) {}

  /** @throws NotFoundError when nothing was stated under that number. */
  async stated(characteristic: string, family: string, number: number): Promise<StatedCapability> {
    const found = await this.store.read.capabilityStatements.numbered(family, characteristic, number);
    if (!found) throw new NotFoundError(TREND_STATEMENT.statementOf(family, characteristic), String(number));
    return { digest: found.digest, text: found.body, number, known: true };
  }

  /**
   * States a study under the plan in force. What was stated last and rests on the same stands: the same is not stored twice.
   * @returns undefined where no index can be stated.
   * @throws NotFoundError without a signed plan in force; AppError BUSY when the history grew meanwhile.
   */
  async state(
    characteristic: string,
    family: string,
    window: Window,
    actor: string,
  ): Promise<StatedCapability | undefined> {
    const { studied } = await this.trend.trend(characteristic, family, window);
    if (studied === null) throw new NotFoundError(TREND_STATEMENT.planOf(family), characteristic);
    if (!statesAnIndex(studied.study)) return undefined;
    const size = await this.store.read.ledger.size();
    const ledger = { size, root: await this.store.read.ledger.root(size) };
    return this.store.change(actor, async (change) => {
      const { plan } = studied.input.plan;
      const [head] = await change.histories.heads(family, [characteristic]);
      if (head?.digest !== studied.input.head?.digest) throw new AppError('BUSY', TREND_STATEMENT.grew);
      const last = await change.capabilityStatements.latest(family, characteristic);
      if (last !== null && sameStudy(last.body, studied)) {
        return { digest: last.digest, text: last.body, number: last.number, known: true };
      }
      const number = (last?.number ?? 0) + 1;
      const stated = { number, program: programName(), ledger, previous: last?.digest ?? null };
      const text = canonicalJson(statementOf(studied.input, studied.study, stated));
      const planRevision = studied.input.plan.revision;
      const digest = await change.capabilityStatements.add({
        ...{ family, characteristic, number, plan, planRevision },
        body: text,
      });
      return { digest, text, number, known: false };
    });
  }
}

function sameStudy(text: string, { input, study }: Studied): boolean {
  const last = JSON.parse(text) as CapabilityStatement;
  return canonicalJson([last.input, last.study]) === canonicalJson([input, study]);
}
