import { textMetric } from '../pdf/shaping.js';
import { countChart } from '../statistics/count-chart.js';
import { lotsOverTime } from './charts/lots-over-time.js';
import type { LotFigure } from './lot-figure.js';
import { COUNT_FIGURE } from './phrases/family-page.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';
import { CHART_WORDS } from './phrases/figures/charts.js';
import { STUDY_FIGURES } from './phrases/figures/family-study.js';

/** So many of something that one lot or build has. */
export interface CountOf {
  readonly lot: string;
  readonly builtAt: string;
  readonly name: string;
  readonly count: number;
}

const SIZE = { width: 460, plotHeight: 80 };

/** Counts in build order with the limits of a count chart (c̄ ± 3 √c̄); undefined of fewer than two, or where all are none. */
export function countFigure(
  title: string,
  counts: readonly CountOf[],
  toLot: (lot: string) => string,
): LotFigure | undefined {
  if (counts.length < 2 || counts.every(({ count }) => count === 0)) return undefined;
  const { centre, lower, upper } = countChart(counts.map(({ count }) => count));
  const flagged = counts.map(({ count }, index) => count > upper[index]! || count < lower[index]!);
  const scene = lotsOverTime(
    {
      ...{ size: SIZE, title, valueLabel: COUNT_FIGURE.count, decimals: 1, isJoined: true },
      ...{ centre, lowerLimit: lower[0]!, upperLimit: upper[0]! },
      points: counts.map(({ lot, builtAt, name, count }, index) => ({
        ...{ lot, at: builtAt, name, value: count, to: toLot(lot) },
        ...(flagged[index] ? { flag: COUNT_FIGURE.beyond } : {}),
      })),
    },
    textMetric,
  );
  const lines = [
    [CHART_WORDS.lowerChartLimit, lower[0]!],
    [CHART_WORDS.centre, centre],
    [CHART_WORDS.upperChartLimit, upper[0]!],
  ] as const;
  return {
    scene,
    alt: STUDY_FIGURES.alt({
      unit: COUNT_FIGURE.count,
      points: counts.length,
      lines: lines.map(([name, value]) => CAPABILITY_FIGURES.line(name, value.toFixed(1))),
      flags: counts.flatMap(({ name }, index) =>
        flagged[index] ? [STUDY_FIGURES.flag(name, COUNT_FIGURE.beyond)] : [],
      ),
    }),
    caption: COUNT_FIGURE.caption(counts.length),
  };
}
