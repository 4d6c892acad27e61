import { PART_NAMES } from '../../dossier/facts.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { familyAnchor } from '../../report/anchors.js';
import { histogramFigure, historyFigure } from '../../report/capability-figures.js';
import {
  capabilityMethodText,
  capabilityNoteText,
  excludedText,
  limitsFixedText,
  signalTexts,
  takenOutText,
} from '../../report/phrases/capability.js';
import { figureText } from '../../report/phrases/figure-text.js';
import { limitsText } from '../../report/phrases/limits.js';
import { STATISTICS } from '../../report/phrases/record-statistics.js';
import type { RecordView } from '../record-view.js';

/** Both charts of a characteristic stand beside each other. */
const HISTORY = { width: 295, plotHeight: 105 };
const SPREAD = { width: 180, plotHeight: 105 };

/** The family over its earlier builds: never this lot alone, which is decided on its units. */
export function drawStatistics(pdf: RecordPage, { facts, assessment, template }: RecordView): void {
  pdf.paragraph(STATISTICS.poolingRule(facts.specification.body.pooling.rationale));
  pdf.callout({ kind: 'note', title: STATISTICS.readWithCare, items: [template.cautions.statistics] });
  for (const capability of assessment.capability) {
    const item = facts.specification.body.characteristics.find(
      (candidate) => candidate.characteristic === capability.characteristic,
    )!;
    pdf.heading(2, item.title, { anchor: familyAnchor(item.characteristic), keepPt: 330 });
    pdf.facts(
      [
        [STATISTICS.limits, `${limitsText(item)} ${tradeUnit(item.ucum)}`],
        [STATISTICS.earlierValues, STATISTICS.earlierOf(capability.n, capability.builds, excludedText(capability))],
        [
          STATISTICS.meanAndStandardDeviation,
          STATISTICS.meanOf(figureText(capability.mean), figureText(capability.sd, 3), tradeUnit(item.ucum)),
        ],
        [
          STATISTICS.ppk,
          capability.ppk === null
            ? STATISTICS.notStated
            : STATISTICS.ppkOf(
                figureText(capability.ppk, 3),
                capability.confidence * 100,
                figureText(capability.ppkLower, 3),
                capability.n,
              ),
        ],
        ...(capability.method ? ([[STATISTICS.method, capabilityMethodText(capability.method)]] as const) : []),
        ...(capability.takenOut.values > 0 ? ([[STATISTICS.takenOut, takenOutText(capability)]] as const) : []),
        ...(capability.chart ? ([[STATISTICS.chart, limitsFixedText(capability.chart)]] as const) : []),
        ...signalTexts(capability).map((text) => [STATISTICS.signal, text] as const),
        [STATISTICS.notes, capability.notes.map(capabilityNoteText).join(' ')],
        [STATISTICS.values, STATISTICS.valuesOf(PART_NAMES.history, item.characteristic)],
      ],
      { small: true },
    );
    const figures = [historyFigure(item, capability, HISTORY), histogramFigure(item, capability, SPREAD)];
    pdf.figures(figures.filter((figure) => figure !== undefined));
  }
}
