import type { RecordPage } from '../../pdf/page.js';
import { familyAnchor } from '../../report/anchors.js';
import { histogramFigure, historyFigure } from '../../report/capability-figures.js';
import { capabilityRows } from '../../report/capability-rows.js';
import { STATISTICS } from '../../report/phrases/record-statistics.js';
import type { RecordView } from '../record-view.js';

/** Both charts of a characteristic stand beside each other. */
const HISTORY = { width: 295, plotHeight: 85 };
const SPREAD = { width: 180, plotHeight: 85 };

/** The family over its earlier builds: never this lot alone, which is decided on its units. */
export function drawStatistics(pdf: RecordPage, { facts, assessment, enclosure, template }: RecordView): void {
  pdf.paragraph(STATISTICS.poolingRule(facts.specification.body.pooling.rationale));
  pdf.callout({ kind: 'note', title: STATISTICS.readWithCare, items: [template.cautions.statistics] });
  const before = enclosure.forCase === null ? (enclosure.familyBefore ?? null) : undefined;
  for (const capability of assessment.capability) {
    const item = facts.specification.body.characteristics.find(
      (candidate) => candidate.characteristic === capability.characteristic,
    )!;
    pdf.heading(2, item.title, { anchor: familyAnchor(item.characteristic), keepPt: 140 });
    pdf.facts(capabilityRows(item, capability, before), { small: true });
    const figures = [historyFigure(item, capability, HISTORY), histogramFigure(item, capability, SPREAD)];
    pdf.figures(figures.filter((figure) => figure !== undefined));
  }
}
