import type { CapabilityResult } from '../assessment/assessment.js';
import type { Characteristic } from '../kinds/specification.js';
import { histogramFigure, historyFigure } from './capability-figures.js';
import { capabilityRows } from './capability-rows.js';
import { figureView } from './figure-view.js';
import { valuesOfLot } from './page-addresses.js';
import { capabilitySentence } from './phrases/capability-line.js';
import { capital } from './phrases/capital.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';

/** One characteristic of the family: lots over time, and how that was counted as its evidence. */
export function capabilityView(item: Characteristic, capability: CapabilityResult) {
  const history = historyFigure(item, capability, { toLot: valuesOfLot(item) });
  const spread = histogramFigure(item, capability);
  const id = item.characteristic;
  return {
    item,
    capability,
    rows: capabilityRows(item, capability),
    says: capital(capabilitySentence(item, capability, undefined)),
    overTime: history && figureView(history, CAPABILITY_FIGURES.history(item.title), `history-${id}`),
    spread: spread && figureView(spread, CAPABILITY_FIGURES.histogram(item.title), `histogram-${id}`),
  };
}
