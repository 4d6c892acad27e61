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
import { exposureTable } from '../../report/exposure-rows.js';
import { DEGRADATION, EXPOSURES, WINDOWS } from '../../report/phrases/record-degradation.js';
import { windowTables } from '../../report/support-window-rows.js';
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
  if (facts.exposures.size > 0) {
    drawExposures(pdf, facts);
    drawWindows(pdf, facts);
    return;
  }
  // Without exposures there is no loss against time: what is typed is one rate, and says less.
  const view = degradationView(facts);
  pdf.heading(2, DEGRADATION.left);
  if ('why' in view) pdf.paragraph(DEGRADATION.nothingIsComputed(view.why));
  else drawHoldings(pdf, view);
}

function drawExposures(pdf: RecordPage, facts: Facts): void {
  const { conditions, rows } = exposureTable(facts);
  pdf.heading(2, EXPOSURES.title);
  for (const text of conditions) pdf.paragraph(text, { small: true });
  pdf.table({
    caption: EXPOSURES.caption,
    columns: [
      { head: EXPOSURES.specimen, width: 2 },
      { head: EXPOSURES.conditionsHead, width: 1.5 },
      { head: EXPOSURES.pH, width: 2.4 },
      { head: EXPOSURES.weeks, width: 1.2 },
      { head: EXPOSURES.loss, unit: 'µm', width: 2.2 },
      { head: EXPOSURES.rateHead, width: 5 },
    ],
    rows: rows.map((cells) => ({ cells: [...cells] })),
  });
}

function drawWindows(pdf: RecordPage, facts: Facts): void {
  const tables = windowTables(facts);
  if (tables === undefined) return;
  pdf.heading(2, WINDOWS.title);
  pdf.table({
    caption: WINDOWS.caption,
    columns: [
      { head: WINDOWS.implantZone, width: 2.4 },
      { head: WINDOWS.window, width: 3.4 },
      { head: WINDOWS.strength, unit: '%', width: 2 },
      { head: WINDOWS.stiffness, unit: '%', width: 2 },
      { head: WINDOWS.outcome, width: 3.2 },
      { head: WINDOWS.margin, width: 1.8 },
      { head: WINDOWS.coupons, width: 2 },
    ],
    rows: tables.windows.map(({ cells, outcome }) => ({ cells: [...cells], attention: outcome !== 'inside' })),
  });
  pdf.paragraph(WINDOWS.note(facts.specification.body.supportWindow === 'decides', facts.simulation?.draws), {
    small: true,
  });
  for (const text of tables.metals) pdf.paragraph(text, { small: true });
  for (const figure of tables.figures) pdf.figure(figure);
  for (const { caption, rows, figure } of tables.zones) {
    pdf.table({
      caption,
      columns: [
        { head: WINDOWS.zone, width: 2 },
        { head: WINDOWS.recipe, width: 4 },
        { head: WINDOWS.loss, width: 2.4 },
        { head: WINDOWS.strengthThere, width: 2.6 },
        { head: WINDOWS.surface, width: 2.8 },
        { head: WINDOWS.outcome, width: 2.4 },
      ],
      rows: rows.map((cells) => ({ cells: [...cells] })),
    });
    pdf.figure(figure);
  }
  pdf.paragraph(WINDOWS.sign, { small: true });
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
      [DEGRADATION.conditions, item.source === 'exposure' ? DEGRADATION.ofExposures : conditionsOf(facts, item)],
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
