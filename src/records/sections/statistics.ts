import { PART_NAMES } from '../../dossier/facts.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { histogramFigure, historyFigure } from '../../report/capability-figures.js';
import { capabilityMethodText, capabilityNoteText, excludedText } from '../../report/phrases/capability.js';
import { figureText } from '../../report/phrases/figure-text.js';
import { limitsText } from '../../report/phrases/limits.js';
import type { RecordView } from '../record-view.js';

/** The family over its earlier builds: never this lot alone, which is decided on its units. */
export function drawStatistics(pdf: RecordPage, { facts, assessment, template }: RecordView): void {
  pdf.paragraph(`Pooling rule: ${facts.specification.body.pooling.rationale}`);
  pdf.callout({ kind: 'note', title: 'Read with care', items: [template.cautions.statistics] });
  for (const capability of assessment.capability) {
    const item = facts.specification.body.characteristics.find(
      (candidate) => candidate.characteristic === capability.characteristic,
    )!;
    pdf.heading(2, item.title);
    pdf.facts([
      ['Limits', `${limitsText(item)} ${tradeUnit(item.ucum)}`],
      ['Earlier values', `${capability.n} from ${capability.builds} builds${excludedText(capability)}`],
      [
        'Mean and standard deviation',
        `${figureText(capability.mean)} and ${figureText(capability.sd, 3)} ${tradeUnit(item.ucum)}`,
      ],
      [
        'Ppk',
        capability.ppk === null
          ? 'not stated'
          : `${figureText(capability.ppk, 3)}; with ${capability.confidence * 100} % confidence at least ${figureText(capability.ppkLower, 3)} (n = ${capability.n})`,
      ],
      ...(capability.method ? ([['Method', capabilityMethodText(capability.method)]] as const) : []),
      ['Notes', capability.notes.map(capabilityNoteText).join(' ')],
      [
        'Values',
        `attached ${PART_NAMES.history}, characteristic ${item.characteristic}; those of this lot in its result rows`,
      ],
    ]);
    const history = historyFigure(item, capability);
    if (history) pdf.figure(history);
    const spread = histogramFigure(item, capability);
    if (spread) pdf.figure(spread);
  }
}
