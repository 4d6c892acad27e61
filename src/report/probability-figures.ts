import { type ProbabilityPoints, probabilityPoints } from '../assessment/family/probability-points.js';
import type { StudyInput } from '../assessment/family/study-input.js';
import type { FamilyStudy } from '../assessment/family/study-result.js';
import { perUnit } from '../dossier/unit-text.js';
import { textMetric } from '../pdf/shaping.js';
import { moments } from '../statistics/summary.js';
import { probabilityPlot } from './charts/probability-plot.js';
import type { LotFigure } from './lot-figure.js';
import { PROBABILITY_FIGURES as WORDS } from './phrases/figures/family-study.js';

/** More would lie on each other: of these ranks each so many is drawn, both ends always. */
const MOST_DRAWN = 200;

/** How values lie against the distribution by which an index speaks; one for each group where the pool fails. */
export function probabilityFigures(input: StudyInput, study: FamilyStudy): { figure: LotFigure; label: string }[] {
  const { title, ucum } = input.characteristic;
  return probabilityPoints(input, study).map((plot) => {
    const label = WORDS.title(title, plot);
    const points = drawnOf(plot.points);
    const scene = probabilityPlot(
      {
        ...{ title: label, points, line: plot.line },
        valueLabel: plot.are === 'freed' ? WORDS.freed : `${title}${perUnit(ucum)}`,
        expectedLabel: WORDS.expected(plot.distribution, plot.distribution === 'normal' ? '' : perUnit(ucum)),
      },
      textMetric,
    );
    const { sd } = moments(plot.points.map(({ value }) => value));
    const [first, last] = [plot.points[0]!, plot.points.at(-1)!].map((point) => offLine(plot, point) / sd);
    return {
      label,
      figure: {
        scene,
        alt: WORDS.alt(plot, first!, last!),
        caption: WORDS.caption(points.length, plot),
      },
    };
  });
}

const offLine = (
  { line: { start, slope } }: ProbabilityPoints,
  { expected, value }: ProbabilityPoints['points'][number],
): number => value - start - slope * expected;

function drawnOf(points: ProbabilityPoints['points']): ProbabilityPoints['points'] {
  const step = (points.length - 1) / (MOST_DRAWN - 1);
  if (step <= 1) return points;
  return Array.from({ length: MOST_DRAWN }, (_, index) => points[Math.round(index * step)]!);
}
