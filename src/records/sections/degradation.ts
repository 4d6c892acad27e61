import { type Facts, revisionKey } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { RecordPage } from '../../pdf/page.js';
import { characteristicAnchor } from '../../report/anchors.js';
import {
  assumptionsOf,
  conditionsOf,
  type DegradationView,
  degradationFigure,
  degradationItems,
  degradationView,
  percentText,
} from '../../report/degradation.js';
import { DEGRADATION } from '../../report/phrases/record-degradation.js';
import { type RecordView } from '../record-view.js';

/** Test conditions of degradation, and what its rates would mean for a section that has to hold for a while. */
export function drawDegradation(pdf: RecordPage, { facts, template }: RecordView): void {
  pdf.callout({
    kind: 'note',
    title: DEGRADATION.readWithCare,
    items: [template.cautions.bench, template.cautions.metals],
    small: true,
  });
  const items = degradationItems(facts);
  if (items.length === 0) pdf.paragraph(DEGRADATION.noRate);
  for (const item of items) drawConditions(pdf, facts, item);
  const view = degradationView(facts);
  pdf.heading(2, DEGRADATION.left);
  if ('why' in view) pdf.paragraph(DEGRADATION.nothingIsComputed(view.why));
  else drawHoldings(pdf, view);
}

function drawConditions(pdf: RecordPage, facts: Facts, item: Characteristic): void {
  const method = facts.methods.get(revisionKey(item.method.method, item.method.revision))?.body;
  pdf.heading(2, DEGRADATION.testConditions(item.title), { keepPt: 38 });
  pdf.facts(
    [
      [
        DEGRADATION.method,
        method
          ? DEGRADATION.methodOf(
              method.title,
              method.method,
              method.revision,
              method.standard ?? DEGRADATION.noneStated,
            )
          : item.method.method,
      ],
      [DEGRADATION.conditions, conditionsOf(facts, item)],
      [DEGRADATION.values, [{ text: DEGRADATION.valuesAt, to: characteristicAnchor(item.characteristic) }]],
    ],
    { small: true },
  );
}

function drawHoldings(pdf: RecordPage, view: DegradationView): void {
  const { support, holdings } = view;
  pdf.facts(
    [
      [DEGRADATION.section, DEGRADATION.sectionOf(support.shape, support.sizeMm)],
      [DEGRADATION.healingWindow, DEGRADATION.windowOf(support.weeks, percentText(Number(support.strengthLeft)))],
      [DEGRADATION.basis, support.basis],
      [DEGRADATION.depthOfLoss, DEGRADATION.depthOf],
    ],
    { small: true },
  );
  pdf.table({
    caption: DEGRADATION.atWeek(support.weeks),
    columns: [
      { head: DEGRADATION.benchRate, width: 2.4 },
      { head: DEGRADATION.rate, unit: 'mm/year', width: 2, align: 'decimal' },
      { head: DEGRADATION.sizeLeft, unit: 'mm', width: 2, align: 'decimal' },
      { head: DEGRADATION.bendingStrengthLeft, unit: '%', width: 2.4, align: 'decimal' },
      { head: DEGRADATION.againstTheWindow, width: 3 },
    ],
    rows: holdings.map((one) => ({
      cells: [
        one.rate,
        one.mmPerYear.toFixed(3),
        one.sizeLeftMm.toFixed(2),
        (100 * one.strengthLeft).toFixed(1),
        one.holds ? DEGRADATION.holds : DEGRADATION.doesNotHold,
      ],
      attention: !one.holds,
    })),
  });
  pdf.figure(degradationFigure(view));
  pdf.paragraph([DEGRADATION.assumptions, ...assumptionsOf(view)].join(' '), { small: true });
}
