import type { CapabilityResult } from '../assessment/assessment.js';
import type { Characteristic } from '../kinds/specification.js';
import { histogramFigure, historyFigure } from './capability-figures.js';
import { figureView } from './figure-view.js';
import {
  capabilityMethodText,
  capabilityNoteText,
  excludedText,
  limitsFixedText,
  signalTexts,
  takenOutText,
} from './phrases/capability.js';
import { figureText } from './phrases/figure-text.js';
import { CAPABILITY_FIGURES } from './phrases/figures/capability.js';
import { limitsText } from './phrases/limits.js';

/** One characteristic of the family over its builds, with its charts. */
export function capabilityView(item: Characteristic, capability: CapabilityResult) {
  const history = historyFigure(item, capability);
  const spread = histogramFigure(item, capability);
  const id = item.characteristic;
  return {
    item,
    capability,
    limits: `${limitsText(item)} ${item.ucum}`,
    excluded: excludedText(capability),
    takenOut: takenOutText(capability),
    chart: capability.chart === null ? '' : limitsFixedText(capability.chart),
    signals: signalTexts(capability),
    method: capability.method === null ? '' : capabilityMethodText(capability.method),
    notes: capability.notes.map(capabilityNoteText).join(' '),
    /** Cut for reading; the API and the lot file carry every digit. */
    shown: {
      mean: figureText(capability.mean),
      sd: figureText(capability.sd, 3),
      ppk: figureText(capability.ppk, 3),
      ppkLower: figureText(capability.ppkLower, 3),
    },
    figures: [
      ...(history ? [figureView(history, CAPABILITY_FIGURES.history(item.title), `history-${id}`)] : []),
      ...(spread ? [figureView(spread, CAPABILITY_FIGURES.histogram(item.title), `histogram-${id}`)] : []),
    ],
  };
}
