import { Injectable } from '@nestjs/common';
import { familyStudy, studyChart } from '../assessment/family/study.js';
import type { RecordedOutcome, StudyInput, StudyRow } from '../assessment/family/study-input.js';
import type { FamilyStudy, StudySignal } from '../assessment/family/study-result.js';
import type { Clock } from '../base/clock.js';
import type { BesideValues } from '../dossier/beside-values.js';
import type { HistoryContext } from '../dossier/pool.js';
import type { Specification } from '../kinds/specification.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import type { StoredRevision } from '../store/entries.js';
import { ALWAYS, LAST_ENTRY, NEVER, type RowValue } from '../store/histories.js';
import { contextOf } from '../store/history-pool.js';
import { headOf, inBuildOrder, planOf } from '../store/history-values.js';
import { type ImpactOn, impactsOn } from '../store/impacts-on.js';
import { lotsMissing } from '../store/lots-missing.js';
import { type PlanInForce, plansInForceAt } from '../store/plans-in-force.js';
import type { LotRow } from '../store/questions.js';
import { SharedFacts } from '../store/shared-facts.js';
import { Store } from '../store/store.js';

/** Days of closing, both included; all there are where one is left out. */
export interface Window {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

export interface Studied {
  readonly input: StudyInput;
  readonly study: FamilyStudy;
}

/** What studies by one specification read alike: each is read once, by the first of them. */
export interface ReadAlike {
  revisions?: Promise<StoredRevision<'specification'>[]>;
  outcomes?: Promise<StoredRevision<'signal-outcome'>[]>;
}

/** A signal of which nobody said yet what it came from. */
export interface OpenSignal {
  readonly family: string;
  readonly characteristic: string;
  /** Of the characteristic. */
  readonly title: string;
  readonly plan: { readonly plan: string; readonly revision: number };
  readonly outcomeDays: number;
  readonly signal: StudySignal;
}

/** Where a plan names no days. */
const USUAL_OUTCOME_DAYS = 14;

/** Studies of families under the plans that are in force now. */
@Injectable()
export class FamilyStudies {
  private readonly known = new Map<string, { readonly state: string; readonly signals: readonly StudySignal[] }>();

  constructor(private readonly store: Store) {}

  /** For each characteristic of a family the plan in force now. */
  plans(family: string): Promise<ReadonlyMap<string, PlanInForce>> {
    const { read, clock } = this.store;
    return plansInForceAt(read, new SharedFacts(read), family, nowOf(clock));
  }

  /**
   * @param specification by which values are judged.
   * @returns undefined where no signed plan is in force, or the specification knows the characteristic no more.
   */
  async study(
    family: string,
    characteristic: string,
    specification: Specification,
    window: Window = {},
  ): Promise<Studied | undefined> {
    const plan = (await this.plans(family)).get(characteristic);
    const input = plan && (await this.input(plan, specification, window, true));
    return input && { input, study: familyStudy(input) };
  }

  /**
   * The same for lists, under a plan that was read already.
   * @param alike of studies that are made one after the other by one specification.
   */
  async briefly(plan: PlanInForce, specification: Specification, alike: ReadAlike): Promise<Studied | undefined> {
    const input = await this.input(plan, specification, {}, false, alike);
    return input && { input, study: familyStudy(input, false, false) };
  }

  private async input(
    plan: PlanInForce,
    specification: Specification,
    window: Window,
    withImpacts: boolean,
    alike: ReadAlike = {},
  ): Promise<StudyInput | undefined> {
    const { histories, entries } = this.store.read;
    const document = plan.revision.body;
    const { family, characteristic } = document;
    const item = specification.characteristics.find((one) => one.characteristic === characteristic);
    if (item === undefined) return undefined;
    const days = { from: window.from ?? NEVER, to: window.to ?? ALWAYS };
    const asked = { family, characteristic, seq: LAST_ENTRY, before: ALWAYS, ...days, values: true, beside: true };
    const [[rows], [head], pinned] = await Promise.all([
      histories.rows([asked]),
      histories.heads(family, [characteristic]),
      planOf(histories, plan, item),
    ]);
    const contexts = new Map<string, HistoryContext>();
    const lots = new Set(rows!.flatMap(({ lot, n, censored }) => (n + censored > 0 ? [lot] : [])));
    alike.revisions ??= entries.revisions('specification', specification.specification);
    const revisions = await alike.revisions;
    const { approvedAt, approvedBy, baseline } = pinned!;
    const dayOf = (row: LotRow | undefined) => row?.builtAt.slice(0, 10) ?? document.effectiveFrom.slice(0, 10);
    return {
      format: 1,
      family,
      window: { from: window.from ?? dayOf(rows![0]), to: window.to ?? dayOf(rows!.at(-1)) },
      characteristic: item,
      limits: limitsIn(
        specification,
        characteristic,
        revisions.find(({ revision }) => revision === specification.revision)?.recordedAt,
      )!,
      earlierLimits: revisions.flatMap(({ body, revision, recordedAt }) =>
        revision < specification.revision ? (limitsIn(body, characteristic, recordedAt) ?? []) : [],
      ),
      pooling: specification.pooling,
      plan: document,
      approval: { at: approvedAt, ...approvedBy },
      head: head === undefined ? null : headOf(head),
      baseline,
      rows: rows!.sort(inBuildOrder).map((row) => rowOf(row, contexts)),
      unassessed: await lotsMissing(this.store.read, family, characteristic, days),
      outcomes: await this.outcomes(document, alike),
      impacts: withImpacts ? (await impactsOn(this.store.read, characteristic, lots)).map(impactOf) : [],
    };
  }

  /** Outcomes of signals of a plan that were approved by signature: one that nobody approved closes nothing. */
  private async outcomes({ plan, revision }: CapabilityPlan, alike: ReadAlike = {}): Promise<RecordedOutcome[]> {
    const { entries, signatures } = this.store.read;
    alike.outcomes ??= entries.list('signal-outcome');
    const own = (await alike.outcomes).filter(({ body }) => body.plan.plan === plan && body.plan.revision === revision);
    const signed = await signatures.on(own.map(({ digest }) => digest));
    const approved = new Set(
      signed.flatMap(({ signed: { statement } }) =>
        statement.meaning === 'approved' ? statement.subjects.map(({ digest }) => digest) : [],
      ),
    );
    return own
      .filter(({ digest }) => approved.has(digest))
      .map(({ body: { signal, rule, points, cause, outcome, by, at }, revision: number }) => ({
        ...{ signal, rule, points: [...points], cause, outcome, by, at, revision: number },
      }));
  }

  /**
   * Signals that ask for an outcome and have none, over all families and plans in force. A study is made again only where
   * the history or the outcomes changed.
   */
  async openSignals(): Promise<OpenSignal[]> {
    const { entries, histories } = this.store.read;
    const found: OpenSignal[] = [];
    for (const { body: family } of await entries.list('family')) {
      for (const [characteristic, plan] of await this.plans(family.family)) {
        const { plan: name, revision, specification, outcomeDays = USUAL_OUTCOME_DAYS } = plan.revision.body;
        const judging = await entries.current('specification', specification.specification);
        const [head] = await histories.heads(family.family, [characteristic]);
        if (judging === undefined || head === undefined) continue;
        const state = [plan.revision.digest, judging.digest, head.digest].join();
        const signals = await this.signalsOf(plan, judging.body, state);
        const outcomes = new Set((await this.outcomes(plan.revision.body)).map(({ signal }) => signal));
        const open = signals.filter(({ asks, id }) => asks && !outcomes.has(id));
        const item = judging.body.characteristics.find((one) => one.characteristic === characteristic);
        const common = {
          ...{ family: family.family, characteristic, title: item?.title ?? characteristic, outcomeDays },
          plan: { plan: name, revision },
        };
        found.push(...open.map((signal) => ({ ...common, signal })));
      }
    }
    return found;
  }

  private async signalsOf(
    plan: PlanInForce,
    specification: Specification,
    state: string,
  ): Promise<readonly StudySignal[]> {
    const name = `${plan.revision.key} ${plan.revision.revision}`;
    const known = this.known.get(name);
    if (known?.state === state) return known.signals;
    const input = await this.input(plan, specification, {}, false);
    const signals = input === undefined ? [] : studyChart(input, false).signals;
    this.known.set(name, { state, signals });
    return signals;
  }
}

const impactOf = ({ impact, cause, conclusion, lots }: ImpactOn): StudyInput['impacts'][number] => ({
  ...{ impact, cause, conclusion, lots: [...lots] },
});

const nowOf = (clock: Clock): number => clock.now().getTime();

function limitsIn(
  { specification, revision, effectiveFrom, characteristics }: Specification,
  name: string,
  recordedAt: string | undefined,
) {
  const item = characteristics.find(({ characteristic }) => characteristic === name);
  if (item === undefined) return undefined;
  const { lower = null, upper = null, boundary } = item;
  return {
    ...{ specification, revision, effectiveFrom, lower, upper },
    ...(recordedAt === undefined ? {} : { recordedAt }),
    ...(boundary === undefined ? {} : { boundary }),
  };
}

/** @param known contexts by their text: most rows of a family share one. */
function rowOf(
  { lot, build, builtAt, context: text, values, censored, takenOut, beside }: LotRow,
  known: Map<string, HistoryContext>,
): StudyRow {
  const context = known.get(text) ?? contextOf(text);
  known.set(text, context);
  return {
    ...{ lot, build, builtAt, context, bounds: censored },
    takenOut: (JSON.parse(takenOut) as unknown[]).length,
    beside: JSON.parse(beside) as BesideValues,
    values: (JSON.parse(values) as RowValue[]).map(([specimen, piece, replicate, value]) => ({
      ...{ specimen, piece, replicate, value },
    })),
  };
}
