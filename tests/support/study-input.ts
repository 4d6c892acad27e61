import type { StudyInput, StudyRow } from '../../src/assessment/family/study-input.js';
import type { HistoryContext } from '../../src/dossier/pool.js';
import { Characteristic } from '../../src/kinds/specification.js';
import { CapabilityPlan } from '../../src/kinds/trend/capability-plan.js';
import { rmPlan } from './documents/rm-plan.js';

export const CONTEXT: HistoryContext = {
  ...{ machine: 'M1', recipe: 'R', recipeRevision: 1, recipeGroup: 'plates' },
  ...{ method: 'TM-T', methodRevision: 1, ucum: 'MPa', zoneClass: 'load-bearing' },
};

const ITEM = {
  ...{ characteristic: 'rm', title: 'Strength', ucum: 'MPa', method: { method: 'TM-T', revision: 1 } },
  ...{ measuredOn: 'coupon', replicates: 1, lower: '215', direction: 'higher-is-better' },
  ...{ decision: { rule: 'simple' }, rounding: { rule: 'absolute' }, due: 'before-release', plan: 'every-unit' },
};

const DAY_MS = 86_400_000;

/** One build a day from 1 February 2031 on, with these values. */
export const buildsOf = (
  builds: readonly (readonly number[])[],
  context: (index: number) => Partial<HistoryContext> = () => ({}),
): StudyRow[] =>
  builds.map((values, index) => ({
    lot: `L-${index + 1}`,
    build: `B-${index + 1}`,
    builtAt: new Date(Date.parse('2031-02-01T08:00:00Z') + index * DAY_MS).toISOString(),
    context: { ...CONTEXT, ...context(index) },
    values: values.map((value, place) => ({ specimen: `S-${index + 1}-${place + 1}`, piece: '', replicate: 1, value })),
    ...{ bounds: 0, takenOut: 0, beside: {} },
  }));

interface Given {
  readonly plan?: Readonly<Record<string, unknown>>;
  readonly item?: Readonly<Record<string, unknown>>;
  /** So many builds are the baseline. */
  readonly baseline: number;
  readonly more?: Partial<StudyInput>;
}

/** A study of builds whose plan was approved at the end of the last day of its baseline. */
export function studyInput(rows: readonly StudyRow[], { plan, item, baseline, more }: Given): StudyInput {
  const fixed = rows.slice(0, baseline);
  const days = { from: '2031-02-01', to: fixed.at(-1)?.builtAt.slice(0, 10) ?? '2031-02-01' };
  const values = fixed.flatMap(({ lot, build, builtAt, values: own }) =>
    own.map((one) => ({ ...one, lot, build, builtAt })),
  );
  return {
    format: 1,
    family: 'PLATE',
    window: { from: '2031-02-01', to: rows.at(-1)?.builtAt.slice(0, 10) ?? '2031-02-01' },
    characteristic: Characteristic.parse({ ...ITEM, ...item }),
    limits: { specification: 'SP', revision: 3, effectiveFrom: '2031-01-10T00:00:00+01:00', lower: '215', upper: null },
    earlierLimits: [],
    pooling: { recipeGroups: ['plates'], machines: ['M1', 'M2'], methodRevisions: 'any', rationale: 'one process' },
    plan: CapabilityPlan.parse(rmPlan({ baseline: days, ...plan })),
    approval: { at: `${days.to}T20:00:00Z`, code: 'P-QE', name: 'Quentin Example' },
    head: null,
    baseline: values,
    rows: [...rows],
    unassessed: [],
    ...{ outcomes: [], impacts: [] },
    ...more,
  };
}
