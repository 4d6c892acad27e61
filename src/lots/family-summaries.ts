import { Injectable } from '@nestjs/common';
import type { FamilyStudy, StudyChart } from '../assessment/family/study-result.js';
import type { Characteristic, Specification } from '../kinds/specification.js';
import type { PlanInForce } from '../store/plans-in-force.js';
import { Store } from '../store/store.js';
import { FamilyStudies, type ReadAlike } from './family-studies.js';

/** What a page of many characteristics shows of each study. */
export interface StudySummary {
  readonly characteristic: string;
  readonly index: FamilyStudy['index'];
  /** The last ones alone. */
  readonly points: StudyChart['points'];
  readonly limits: StudyChart['limits'];
  readonly signals: readonly SummedSignal[];
}

export interface SummedSignal {
  readonly rule: string;
  /** Name of the point that completes it. */
  readonly point: string;
  readonly at: string;
  readonly lots: readonly string[];
  readonly isOpen: boolean;
}

/** More points stand in no small chart. */
const MOST_POINTS = 40;

/** Studies of all characteristics of a family, each made again only where plan, limits, values or outcomes changed. */
@Injectable()
export class FamilySummaries {
  private readonly known = new Map<string, { readonly state: string; readonly summary: StudySummary | undefined }>();

  constructor(
    private readonly store: Store,
    private readonly studies: FamilyStudies,
  ) {}

  /**
   * By characteristic, those under a plan in force alone.
   * @param withinMs no further study is begun after that time; what was made stays known.
   * @returns with the characteristics that are still to be studied.
   */
  async of(
    specification: Specification,
    family: string,
    withinMs: number,
  ): Promise<{ readonly summaries: ReadonlyMap<string, StudySummary>; readonly left: readonly Characteristic[] }> {
    const { histories, entries } = this.store.read;
    const plans = await this.studies.plans(family);
    const items = specification.characteristics.filter(({ characteristic }) => plans.has(characteristic));
    const heads = await histories.heads(
      family,
      items.map(({ characteristic }) => characteristic),
    );
    const alike: ReadAlike = { outcomes: entries.list('signal-outcome') };
    const outcomes = (await alike.outcomes!).map(({ digest }) => digest).join();
    const summaries = new Map<string, StudySummary>();
    const left: Characteristic[] = [];
    const until = Date.now() + withinMs;
    for (const item of items) {
      const { characteristic } = item;
      const head = heads.find((one) => one.characteristic === characteristic);
      const plan = plans.get(characteristic)!.revision.digest;
      const state = [plan, specification.specification, specification.revision, head?.digest ?? '', outcomes].join();
      const name = `${family} ${characteristic}`;
      const known = this.known.get(name);
      if (known?.state !== state && Date.now() > until) {
        left.push(item);
        continue;
      }
      const summary =
        known?.state === state ? known.summary : await this.summary(plans.get(characteristic)!, specification, alike);
      this.known.set(name, { state, summary });
      if (summary) summaries.set(characteristic, summary);
    }
    return { summaries, left };
  }

  private async summary(
    plan: PlanInForce,
    specification: Specification,
    alike: ReadAlike,
  ): Promise<StudySummary | undefined> {
    const studied = await this.studies.briefly(plan, specification, alike);
    if (studied === undefined) return undefined;
    const { chart, index } = studied.study;
    return {
      ...{ characteristic: plan.revision.body.characteristic, index },
      points: chart.points.slice(-MOST_POINTS),
      limits: chart.limits,
      signals: chart.signals.map(({ rule, points, at, lots, asks, outcome }) => ({
        ...{ rule, point: points.at(-1)!, at, lots, isOpen: asks && outcome === null },
      })),
    };
  }
}
