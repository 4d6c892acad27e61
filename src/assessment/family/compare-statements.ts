import { z } from 'zod';
import type { Made } from '../../dossier/beside-values.js';
import { canonicalJson } from '../../dossier/canonical.js';
import type { CapabilityStatement } from './statement.js';
import type { StudyRow } from './study-input.js';
import { FamilyIndex } from './study-result.js';

const { ppk, ppkLower, n, builds, says } = FamilyIndex.shape;
const Told = z.strictObject({ number: z.int(), ppk, ppkLower, n, builds, says });
const Lots = z.array(z.string());
/** What a row says, part by part: values and what makes them comparable, and what is known beside them. */
const ROW_PARTS = [
  ...(['values', 'bounds', 'taken out', 'context', 'limits', 'apart', 'nonconforming'] as const),
  ...(['powder', 'operator', 'analysts', 'maintained', 'calibrated', 'worn', 'batches', 'measured'] as const),
] as const;
type RowPart = (typeof ROW_PARTS)[number];
const PlanName = z.strictObject({ plan: z.string(), revision: z.int() });

/** What a statement says otherwise than the one before it, as facts. */
export const StatementChanges = z.strictObject({
  before: Told,
  now: Told,
  plan: z.strictObject({ from: PlanName, to: PlanName }).nullable().describe('null where it is the same'),
  limits: z
    .strictObject({ from: z.array(z.string().nullable()), to: z.array(z.string().nullable()) })
    .nullable()
    .describe('lower and upper limit, and which of them no value can pass; null where they are the same'),
  chartLimits: z.boolean().describe('the baseline fixes other limits of the chart'),
  added: Lots.describe('lots that the one before did not look at'),
  gone: Lots.describe('lots that it looked at and this one does not'),
  otherwise: z
    .array(z.strictObject({ lot: z.string(), what: z.array(z.enum(ROW_PARTS)) }))
    .describe('lots of which a row says something else, and what of it'),
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
    otherwise: both.flatMap((lot) => {
      const what = ROW_PARTS.filter((part) => partOf(own.get(lot)!, part) !== partOf(old.get(lot)!, part));
      return what.length === 0 ? [] : [{ lot, what }];
    }),
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
const limitsOf = ({ input: { characteristic: item } }: CapabilityStatement) => [
  ...[item.lower ?? null, item.upper ?? null],
  item.boundary ?? null,
];

/** Limits alone: a spread within points belongs to points, of which there are more. */
function chartOf({ study: { chart } }: CapabilityStatement) {
  const { centre, sigma, lower, upper } = chart.limits ?? {};
  return { baseline: chart.baseline, limits: [centre ?? null, sigma ?? null, lower ?? null, upper ?? null] };
}

function rowsByLot({ input }: CapabilityStatement): Map<string, StudyRow[]> {
  const found = new Map<string, StudyRow[]>();
  for (const row of input.rows) found.set(row.lot, [...(found.get(row.lot) ?? []), row]);
  return found;
}

const READ: Readonly<Record<Exclude<RowPart, keyof Made>, (row: StudyRow) => unknown>> = {
  values: ({ build, builtAt, values }) => [build, builtAt, values],
  bounds: ({ bounds }) => bounds,
  'taken out': ({ takenOut }) => takenOut,
  context: ({ context }) => context,
  limits: ({ beside }) => beside.judged ?? null,
  apart: ({ beside }) => beside.apart ?? null,
  nonconforming: ({ beside }) => beside.nonconforming ?? null,
};

const partOf = (rows: readonly StudyRow[], part: RowPart): string =>
  canonicalJson(
    rows.map((row) =>
      part in READ ? READ[part as keyof typeof READ](row) : (row.beside.made?.[part as keyof Made] ?? null),
    ),
  );

const leftOut = ({ study }: CapabilityStatement): ReadonlySet<string> =>
  new Set(study.listed.flatMap((row) => (row.leftOut === null ? [] : [row.lot])));

const otherThan = <T>(from: T, to: T): { from: T; to: T } | null =>
  canonicalJson(from) === canonicalJson(to) ? null : { from, to };
