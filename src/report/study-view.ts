import { chartInTestOrder } from '../assessment/family/study.js';
import type { StudyInput } from '../assessment/family/study-input.js';
import type { FamilyStudy } from '../assessment/family/study-result.js';
import { figureView } from './figure-view.js';
import { signalOutcomeAddress, valuesOfLot } from './page-addresses.js';
import { ableText } from './phrases/able.js';
import { probabilityFigures } from './probability-figures.js';
import { type LedBy, MOST_SHOWN, studyFigures } from './study-figures.js';
import { studyRows, studyTables } from './study-rows.js';

/**
 * Everything that stands on the page about a study.
 * @param isWhole every build there is: in a part of them other signals may stand, and only those of all ask for an outcome.
 */
export function studyView(
  input: StudyInput,
  study: FamilyStudy,
  order: 'built' | 'tested' = 'built',
  ledBy: LedBy = () => undefined,
  isWhole = true,
) {
  const { characteristic: item } = input;
  const chart = order === 'tested' ? chartInTestOrder(input) : study.chart;
  const figures = studyFigures(item, { chart }, input.plan, valuesOfLot(item), ledBy).map(({ figure, label }, index) =>
    figureView(figure, label, `study-${index}`),
  );
  const tables = studyTables(study);
  const panels = new Set(chart.points.slice(-MOST_SHOWN).map(({ machine }) => machine)).size;
  return {
    order,
    says: ableText(study.index),
    rows: studyRows(input, study),
    figures: figures.slice(0, panels),
    more: figures.slice(panels),
    probability: probabilityFigures(input, study).map(({ figure, label }, index) =>
      figureView(figure, label, `probability-${index}`),
    ),
    ...tables,
    signals: tables.signals.map((signal) => ({
      ...signal,
      say: isWhole && signal.asks && signal.outcome === null ? signalOutcomeAddress(signal.id) : undefined,
    })),
    changes: tables.changes.map((change) => ({ ...change, ledBy: ledBy(change) })),
  };
}
