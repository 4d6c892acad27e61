import type { FamilyStudy, StudyChart } from '../assessment/family/study-result.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import { fixedText } from './charts/frame.js';
import { lotsOverTime } from './charts/lots-over-time.js';
import type { LotFigure } from './lot-figure.js';
import { valuesOfLot } from './page-addresses.js';
import { FAMILY_FIGURE } from './phrases/family-page.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';
import { CHART_WORDS } from './phrases/figures/charts.js';
import { BESIDE_A_SIGNAL, STUDY_FIGURES } from './phrases/figures/family-study.js';

/** What is known of a characteristic under its plan. */
interface Planned {
  readonly points: StudyChart['points'];
  readonly limits: StudyChart['limits'];
  readonly index: Pick<FamilyStudy['index'], 'says'>;
  readonly signals: readonly { readonly rule: string; readonly point: string }[];
}

interface BuildMean {
  readonly lot: string;
  readonly builtAt: string;
  readonly mean: number | null;
}

/** As wide as a few of them stand beside each other. */
const SIZE = { width: 300, plotHeight: 64 };
const MOST_BUILDS = 40;

/** A small chart: the points of the plan with its limits, or without a plan the means of builds; undefined without any. */
export function familyFigure(
  item: Characteristic,
  planned: Planned | undefined,
  builds: readonly BuildMean[],
): LotFigure | undefined {
  const toLot = valuesOfLot(item);
  const flags = new Map(planned?.signals.map(({ point, rule }) => [point, BESIDE_A_SIGNAL[rule] ?? rule]));
  // Words beside every mark would cover a chart of this size: those of the newest one of each rule stand for them.
  const newest = new Map([...flags].map(([point, words]) => [words, point]));
  const means = builds.flatMap(({ lot, builtAt, mean }) =>
    mean === null ? [] : [{ lot, builtAt, name: lot, value: mean }],
  );
  const points = planned?.points ?? means.slice(-MOST_BUILDS);
  if (points.length === 0) return undefined;
  const places = points.map(({ value }) => (String(Number(value.toPrecision(5))).split('.')[1] ?? '').length);
  const decimals = Math.min(4, Math.max(0, ...places));
  const lines = [
    ['lowerSpecification', CHART_WORDS.atLeast, numberOf(item.lower)],
    ['upperSpecification', CHART_WORDS.atMost, numberOf(item.upper)],
    ['lowerLimit', CHART_WORDS.lowerChartLimit, planned?.limits?.lower],
    ['centre', CHART_WORDS.centre, planned?.limits?.centre],
    ['upperLimit', CHART_WORDS.upperChartLimit, planned?.limits?.upper],
  ] as const;
  const given = lines.flatMap(([key, words, value]) => (value === undefined ? [] : [{ key, words, value }]));
  const unit = tradeUnit(item.ucum);
  const scene = lotsOverTime(
    {
      size: SIZE,
      title: '',
      valueLabel: unit,
      decimals,
      stopsAtMarked: true,
      points: points.map(({ lot, name, value, builtAt }) => {
        const flag = flags.get(name);
        return {
          lot,
          at: builtAt,
          name,
          value,
          to: toLot(lot),
          ...(flag && { flag: newest.get(flag) === name ? flag : '' }),
        };
      }),
      ...Object.fromEntries(given.map(({ key, value }) => [key, value])),
    },
    textMetric,
  );
  return {
    scene,
    alt: STUDY_FIGURES.alt({
      unit,
      points: points.length,
      lines: given.map(({ words, value }) => CAPABILITY_FIGURES.line(words, fixedText(value, decimals))),
      flags: points.flatMap(({ name }) => (flags.has(name) ? [STUDY_FIGURES.flag(name, flags.get(name)!)] : [])),
    }),
    caption: FAMILY_FIGURE.caption(points.length, planned !== undefined),
  };
}

const numberOf = (text: string | undefined): number | undefined => (text === undefined ? undefined : Number(text));
