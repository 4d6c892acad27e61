import { Injectable } from '@nestjs/common';
import type { CapabilityResult } from '../assessment/assessment.js';
import { NotFoundError } from '../base/errors.js';
import type { Lot } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { capabilityNow } from '../lots/family-now.js';
import { FamilyStudies, type Studied, type Window } from '../lots/family-studies.js';
import { ALWAYS, type BuildSummary, LAST_ENTRY, NEVER } from '../store/histories.js';
import { firstClosing } from '../store/plans-in-force.js';
import { Store } from '../store/store.js';

export interface TrendReport {
  readonly family: string;
  readonly characteristic: Characteristic;
  /** Over the builds before the latest lot; the values of that lot come last, marked as its own. */
  readonly capability: CapabilityResult;
  readonly latestLot: string;
  /** An earlier version of the program assessed that lot, and this one has not yet. */
  readonly ofEarlierVersion: boolean;
  readonly lots: readonly BuildSummary[];
  /** Under the plan that is in force now; null without one. */
  readonly studied: Studied | null;
}

/** One characteristic of a family over its builds. */
@Injectable()
export class FamilyTrend {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
    private readonly studies: FamilyStudies,
  ) {}

  /**
   * Judged by the specification and pooling rule of the family's latest assessed lot, and under the plan in force.
   * @param window of the study; every build without one.
   * @throws NotFoundError when the family has no assessed lot, or its specification no such characteristic.
   */
  async trend(characteristic: string, family: string, window: Window = {}): Promise<TrendReport> {
    const latest = await this.latestAssessed(family, characteristic);
    const assessed = latest === undefined ? undefined : await this.current.of(latest);
    if (!assessed) throw new NotFoundError('assessed lot of family', family);
    const item = assessed.facts.specification.body.characteristics.find(
      (candidate) => candidate.characteristic === characteristic,
    );
    if (!item) throw new NotFoundError(`characteristic of family ${family}`, characteristic);
    return {
      family,
      characteristic: item,
      capability: await capabilityNow(this.store.read, assessed.facts, item),
      latestLot: latest!,
      ofEarlierVersion: assessed.ofEarlierVersion,
      lots: await this.store.read.histories.builds(family, characteristic),
      studied: (await this.studies.study(family, characteristic, assessed.facts.specification.body, window)) ?? null,
    };
  }

  /** The lot of the family whose first build was closed last, among those whose assessment these rules read. */
  private async latestAssessed(family: string, characteristic: string): Promise<string | undefined> {
    const { histories, entries } = this.store.read;
    const want = { family, characteristic, seq: LAST_ENTRY, before: ALWAYS, from: NEVER, to: ALWAYS };
    const [last] = await histories.rows([want], LOTS_TRIED);
    const names = new Set([...last!.map(({ lot }) => lot), ...(await histories.lotsWithout(family, characteristic))]);
    const lots: Lot[] = [];
    for (const name of names) {
      const body = (await entries.current('lot', name))?.body;
      if (body?.family === family && body.builds.length > 0) lots.push(body);
    }
    for (const { lot } of lots.sort((a, b) => firstClosing(b) - firstClosing(a))) {
      if (await this.current.of(lot)) return lot;
    }
    return undefined;
  }
}

/** Lots of which the assessment cannot be read are few, and never the last ones for long. */
const LOTS_TRIED = 50;
