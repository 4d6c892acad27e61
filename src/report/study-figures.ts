import { LINES } from '../assessment/family/changes.js';
import type { Apart, ChangeLine, FamilyStudy, StudyChart } from '../assessment/family/study-result.js';
import type { ChartRule } from '../base/run-rule-names.js';
import { readReported } from '../dossier/reported-value.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { textMetric } from '../pdf/shaping.js';
import { fixedText } from './charts/frame.js';
import { type LotsOverTime, lotsOverTime } from './charts/lots-over-time.js';
import type { TimedPoint } from './charts/timed-points.js';
import type { LotFigure } from './lot-figure.js';
import { changeText } from './phrases/family-study.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';
import { CHART_WORDS } from './phrases/figures/charts.js';
import { BESIDE_A_SIGNAL, STUDY_FIGURES } from './phrases/figures/family-study.js';

/** The page with the values of a lot, where a chart stands on a page. */
export type ToLot = (lot: string) => string;

/** The design change that led to a change line, where one did and a page of it stands. */
export type LedBy = (
  change: Pick<ChangeLine, 'what' | 'to'>,
) => { readonly to: string; readonly label: string } | undefined;

/** A wider chart could not be read; the table beside it has every point. */
export const MOST_SHOWN = 60;

type Point = StudyChart['points'][number];

interface Shown {
  /** Index of the first point that is drawn. */
  readonly from: number;
  readonly points: readonly Point[];
  readonly decimals: number;
  readonly unit: string;
  readonly all: number;
  readonly toLot: ToLot | undefined;
  readonly ledBy: LedBy | undefined;
}

/** Values, their ranges, moving average and sums, each with the limits that the baseline fixes. Each point leads to its lot. */
export function studyFigures(
  item: Characteristic,
  { chart }: Pick<FamilyStudy, 'chart'>,
  { runRules }: Pick<CapabilityPlan, 'runRules'>,
  toLot?: ToLot,
  ledBy?: LedBy,
): { figure: LotFigure; label: string }[] {
  const all = chart.points.length;
  if (all === 0) return [];
  const from = Math.max(0, all - MOST_SHOWN);
  const points = chart.points.slice(from);
  const places = points.map(({ value }) => (String(value).split('.')[1] ?? '').length);
  const shown = {
    from,
    points,
    all,
    toLot,
    ledBy,
    decimals: Math.min(4, Math.max(0, ...places) + 1),
    unit: tradeUnit(item.ucum),
  };
  const made = [
    ...valuePanels(item, chart, shown),
    ...(chart.limits === null ? [] : besides(item, chart, chart.limits, shown)),
  ];
  return made.map(({ label, ...spec }) => {
    const isUnasked = spec.rule !== undefined && !runRules.includes(spec.rule);
    return { figure: drawn(label, spec, shown, isUnasked), label };
  });
}

interface Drawn {
  readonly point: Pick<Point, 'lot' | 'name' | 'builtAt'>;
  readonly value: number;
  readonly flag?: string | undefined;
  readonly apart?: TimedPoint['apart'];
}

interface Spec {
  readonly label: string;
  /** By which a point beyond its limits would be a signal, where the plan asks for it. */
  readonly rule?: ChartRule | 'none';
  readonly values: readonly Drawn[];
  readonly lines: Partial<
    Pick<
      LotsOverTime,
      | 'centre'
      | 'lowerLimit'
      | 'upperLimit'
      | 'lowerSpecification'
      | 'upperSpecification'
      | 'target'
      | 'reaching'
      | 'changes'
      | 'events'
      | 'isJoined'
    >
  >;
}

/** One panel for each machine, all on one scale. What is drawn apart stands behind the points of its build. */
function valuePanels(item: Characteristic, chart: StudyChart, { from, points, ledBy }: Shown): Spec[] {
  const flags = new Map(chart.signals.map(({ last, rule }) => [last, BESIDE_A_SIGNAL[rule] ?? rule]));
  const machines = [...new Set(points.map(({ machine }) => machine))];
  return machines.map((machine) => {
    const values: Drawn[] = [];
    const places = new Map<number, number>();
    points.forEach((point, index) => {
      const own = chart.apart.filter(({ beside, machine: of }) => beside === from + index && of === machine);
      if (point.machine === machine) {
        places.set(from + index, values.length);
        values.push({ point, value: point.value, flag: flags.get(from + index) });
      }
      for (const one of own) {
        const { lot, builtAt, specimen } = one;
        values.push({ point: { lot, builtAt, name: specimen }, ...apartDrawn(one) });
      }
    });
    const told = chart.changes.flatMap((change) => {
      const before = placeBehind(places, change.before);
      const isElsewhere =
        (change.machine !== null && change.machine !== machine) || (change.what === 'machine' && machines.length > 1);
      return before === undefined || before === 0 || isElsewhere
        ? []
        : [{ before, label: changeText(change), ledBy: ledBy?.(change), isLine: LINES.includes(change.what) }];
    });
    return {
      label: STUDY_FIGURES.value(item.title, machines.length === 1 ? '' : STUDY_FIGURES.ofMachine(machine)),
      values,
      lines: {
        ...given('centre', chart.limits?.centre),
        ...given('lowerLimit', chart.limits?.lower),
        ...given('upperLimit', chart.limits?.upper),
        ...given('lowerSpecification', chart.specified.lower),
        ...given('upperSpecification', chart.specified.upper),
        ...given('target', chart.specified.target),
        reaching: points.map(({ value }) => value),
        changes: told.filter(({ isLine }) => isLine),
        events: told.filter(({ isLine }) => !isLine),
      },
    };
  });
}

/** Where the first point of a panel stands that was built no earlier than a change. */
function placeBehind(places: ReadonlyMap<number, number>, before: number): number | undefined {
  for (const [index, place] of places) if (index >= before) return place;
  return undefined;
}

function apartDrawn({ value, why }: Apart): Pick<Drawn, 'value' | 'apart'> {
  const { qualifier, number } = readReported(value);
  const bound = qualifier === '' ? 'open' : ['<', '≤'].includes(qualifier) ? 'below' : 'above';
  return { value: Number(number), apart: why === 'bound' ? bound : 'open' };
}

function besides(
  item: Characteristic,
  { ranges, ewma, cusum, points: all }: StudyChart,
  limits: NonNullable<StudyChart['limits']>,
  { from, points }: Shown,
): Spec[] {
  const { title } = item;
  const series = (of: readonly number[]) => points.map((point, index) => ({ point, value: of[from + index]! }));
  const withins = points.flatMap((point) => (point.within === null ? [] : [{ point, value: point.within }]));
  const sizes = new Set(withins.map(({ point }) => point.size));
  const withinUpper = limits.withinUpper[all.length - 1];
  const specs: Spec[] = [
    {
      label: STUDY_FIGURES.range(title),
      rule: 'movingRange',
      values: points.flatMap((point, index) =>
        from + index === 0 ? [] : [{ point, value: ranges[from + index - 1]! }],
      ),
      lines: { upperLimit: limits.rangeUpper, isJoined: true },
    },
    ...(withins.length < 2
      ? []
      : [
          {
            label: STUDY_FIGURES.within(title),
            rule: 'none' as const,
            values: withins,
            // Points of several sizes have each a limit of its own, and one line would be none of them.
            lines: { ...(sizes.size === 1 && withinUpper != null ? { upperLimit: withinUpper } : {}), isJoined: true },
          },
        ]),
    {
      label: STUDY_FIGURES.ewma(title),
      rule: 'ewma',
      values: series(ewma!.points),
      lines: {
        ...{ centre: limits.centre, lowerLimit: ewma!.lower.at(-1)!, upperLimit: ewma!.upper.at(-1)! },
        isJoined: true,
      },
    },
    {
      label: STUDY_FIGURES.cusumUp(title),
      rule: 'cusum',
      values: series(cusum!.high),
      lines: { upperLimit: cusum!.limit, isJoined: true },
    },
    {
      label: STUDY_FIGURES.cusumDown(title),
      rule: 'cusum',
      values: series(cusum!.low),
      lines: { upperLimit: cusum!.limit, isJoined: true },
    },
  ];
  return specs.filter(({ values }) => values.length > 0);
}

const given = <K extends string>(name: K, value: number | null | undefined) =>
  (value == null ? {} : { [name]: value }) as { readonly [name in K]?: number };

function drawn(
  title: string,
  { values, lines }: Pick<Spec, 'values' | 'lines'>,
  { points, all, decimals, unit, toLot }: Shown,
  isUnasked: boolean,
): LotFigure {
  const scene = lotsOverTime(
    {
      title,
      valueLabel: unit,
      decimals,
      points: values.map(({ point, value, flag, apart }) => ({
        ...{ lot: point.lot, at: point.builtAt, name: point.name, value },
        ...(toLot && { to: toLot(point.lot) }),
        ...(flag === undefined ? {} : { flag }),
        ...(apart === undefined ? {} : { apart }),
      })),
      ...lines,
    },
    textMetric,
  );
  const named = [
    [CHART_WORDS.atLeast, lines.lowerSpecification],
    [CHART_WORDS.atMost, lines.upperSpecification],
    [CHART_WORDS.target, lines.target],
    [CHART_WORDS.lowerChartLimit, lines.lowerLimit],
    [CHART_WORDS.centre, lines.centre],
    [CHART_WORDS.upperChartLimit, lines.upperLimit],
  ] as const;
  return {
    scene,
    alt: STUDY_FIGURES.alt({
      unit,
      points: values.length,
      lines: named.flatMap(([name, value]) =>
        value === undefined ? [] : [CAPABILITY_FIGURES.line(name, fixedText(value, decimals))],
      ),
      flags: values.flatMap(({ point, flag }) => (flag === undefined ? [] : [STUDY_FIGURES.flag(point.name, flag)])),
    }),
    caption: `${STUDY_FIGURES.caption(points.length, all)}${isUnasked ? STUDY_FIGURES.unasked : ''}`,
  };
}
