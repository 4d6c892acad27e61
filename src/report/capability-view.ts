import type { CapabilityResult } from '../assessment/assessment.js';
import type { Characteristic } from '../kinds/specification.js';
import { histogramFigure, historyFigure } from './capability-figures.js';
import { capabilityRows } from './capability-rows.js';
import { figureView } from './figure-view.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';

/** One characteristic of the family over its builds, with its charts. */
export function capabilityView(item: Characteristic, capability: CapabilityResult) {
  const history = historyFigure(item, capability);
  const spread = histogramFigure(item, capability);
  const id = item.characteristic;
  return {
    item,
    capability,
    rows: capabilityRows(item, capability),
    figures: [
      ...(history ? [figureView(history, CAPABILITY_FIGURES.history(item.title), `history-${id}`)] : []),
      ...(spread ? [figureView(spread, CAPABILITY_FIGURES.histogram(item.title), `histogram-${id}`)] : []),
    ],
  };
}
