import { z } from 'zod';
import { canonicalJson } from '../../dossier/canonical.js';
import type { CapabilityStatement } from './statement.js';
import { FamilyIndex } from './study-result.js';

const { ppk, ppkLower, n, builds, says } = FamilyIndex.shape;
const Told = z.strictObject({ number: z.int(), ppk, ppkLower, n, builds, says });
const Lots = z.array(z.string());
const PlanName = z.strictObject({ plan: z.string(), revision: z.int() });

/** What a statement says otherwise than the one before it, as facts. */
export const StatementChanges = z.strictObject({
  before: Told,
  now: Told,
  plan: z.strictObject({ from: PlanName, to: PlanName }).nullable().describe('null where it is the same'),
  limits: z
    .strictObject({ from: z.array(z.string().nullable()), to: z.array(z.string().nullable()) })
    .nullable()
    .describe('lower and upper limit; null where they are the same'),
  chartLimits: z.boolean().describe('the baseline fixes other limits of the chart'),
  added: Lots.describe('lots that the one before did not look at'),
  gone: Lots.describe('lots that it looked at and this one does not'),
  otherwise: Lots.describe('lots of which it had other values, or as many in another context'),
  turned: Lots.describe('lots that were in and are out, or the other way round'),
  signals: z.array(z.strictObject({ rule: z.string(), at: z.string() })).describe('those that are new'),
  signalsGone: z.int(),
});
export type StatementChanges = z.infer<typeof StatementChanges>;

/** @param before of the same family and characteristic. */
export function compareStatements(before: CapabilityStatement, now: CapabilityStatement): StatementChanges {
  const [old, own] = [rowsByLot(before), rowsByLot(now)];
  const both = [...own.keys()].filter((lot) => old.has(lot));
  const [out, outNow] = [leftOut(before), leftOut(now)];
  const known = new Set(before.study.chart.signals.map(({ id }) => id));
  const still = new Set(now.study.chart.signals.map(({ id }) => id));
  return {
    before: told(before),
    now: told(now),
    plan: otherThan(planOf(before), planOf(now)),
    limits: otherThan(limitsOf(before), limitsOf(now)),
    chartLimits: canonicalJson(chartOf(before)) !== canonicalJson(chartOf(now)),
    added: [...own.keys()].filter((lot) => !old.has(lot)),
    gone: [...old.keys()].filter((lot) => !own.has(lot)),
    otherwise: both.filter((lot) => own.get(lot) !== old.get(lot)),
    turned: both.filter((lot) => out.has(lot) !== outNow.has(lot)),
    signals: now.study.chart.signals
      .filter(({ id }) => !known.has(id))
      .map(({ rule, points }) => ({
        ...{ rule, at: points.at(-1)! },
      })),
    signalsGone: [...known].filter((id) => !still.has(id)).length,
  };
}

const told = ({ number, study: { index } }: CapabilityStatement) => ({
  ...{ number, ppk: index.ppk, ppkLower: index.ppkLower },
  ...{ n: index.n, builds: index.builds, says: index.says },
});
const planOf = ({ input: { plan } }: CapabilityStatement) => ({ plan: plan.plan, revision: plan.revision });
const limitsOf = ({ input: { characteristic: item } }: CapabilityStatement) => [item.lower ?? null, item.upper ?? null];

/** Limits alone: a spread within points belongs to points, of which there are more. */
function chartOf({ study: { chart } }: CapabilityStatement) {
  const { centre, sigma, lower, upper } = chart.limits ?? {};
  return { baseline: chart.baseline, limits: [centre ?? null, sigma ?? null, lower ?? null, upper ?? null] };
}

function rowsByLot({ input }: CapabilityStatement): Map<string, string> {
  const found = new Map<string, string>();
  for (const row of input.rows) found.set(row.lot, `${found.get(row.lot) ?? ''}${canonicalJson(row)}`);
  return found;
}

const leftOut = ({ study }: CapabilityStatement): ReadonlySet<string> =>
  new Set(study.listed.flatMap((row) => (row.leftOut === null ? [] : [row.lot])));

const otherThan = <T>(from: T, to: T): { from: T; to: T } | null =>
  canonicalJson(from) === canonicalJson(to) ? null : { from, to };
