import { currentResults } from '../../assessment/specimens.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { specimenText } from '../../dossier/tables.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { RecordPage } from '../../pdf/page.js';
import { resultAnchor } from '../../report/anchors.js';
import {
  assumptionsOf,
  conditionsOf,
  type DegradationView,
  degradationFigure,
  degradationItems,
  degradationView,
  percentText,
} from '../../report/degradation.js';
import { type RecordView } from '../record-view.js';

/** Test conditions of degradation, and what its rates would mean for a section that has to hold for a while. */
export function drawDegradation(pdf: RecordPage, { facts, template }: RecordView): void {
  pdf.callout({ kind: 'note', title: 'Read with care', items: [template.cautions.bench, template.cautions.metals] });
  const items = degradationItems(facts);
  if (items.length === 0) pdf.paragraph('The specification asks for no rate of degradation.');
  for (const item of items) drawConditions(pdf, facts, item);
  const view = degradationView(facts);
  pdf.heading(2, 'What the rates would leave of the section');
  if ('why' in view) pdf.paragraph(`${view.why} Nothing is computed.`);
  else drawHoldings(pdf, view);
}

function drawConditions(pdf: RecordPage, facts: Facts, item: Characteristic): void {
  const method = facts.methods.get(revisionKey(item.method.method, item.method.revision))?.body;
  pdf.heading(2, `${item.title}: test conditions`);
  pdf.facts([
    ['Method', method ? `${method.title} (${method.method} revision ${method.revision})` : item.method.method],
    ['Standard', method?.standard ?? 'none stated'],
    ['Conditions', conditionsOf(facts, item)],
  ]);
  const rows = currentResults(facts).filter((row) => row.characteristic === item.characteristic);
  pdf.table({
    caption: `${item.title}, as reported`,
    columns: [
      { head: 'Specimen', width: 3 },
      { head: 'Replicate', width: 1.6, align: 'right' },
      { head: 'Value', unit: tradeUnit(item.ucum), width: 2, align: 'decimal' },
      { head: 'Row', width: 1 },
    ],
    rows: rows.map((row) => [
      specimenText(row),
      row.replicate,
      [{ text: row.value, to: resultAnchor(row.row) }],
      [{ text: String(row.row), to: resultAnchor(row.row) }],
    ]),
    empty: 'Nothing was measured.',
  });
}

function drawHoldings(pdf: RecordPage, view: DegradationView): void {
  const { support, holdings } = view;
  pdf.facts([
    ['Section', `${support.shape}, ${support.sizeMm} mm`],
    [
      'Healing window',
      `${support.weeks} weeks; at its end at least ${percentText(Number(support.strengthLeft))} of the bending strength`,
    ],
    ['Basis', support.basis],
    ['Depth of loss', 'rate × localisation factor × weeks × 7 / 365, on each face'],
  ]);
  pdf.table({
    caption: `At week ${support.weeks}, computed`,
    columns: [
      { head: 'Rate of the bench', width: 2.4 },
      { head: 'Rate', unit: 'mm/year', width: 2, align: 'decimal' },
      { head: 'Size left', unit: 'mm', width: 2, align: 'decimal' },
      { head: 'Bending strength left', unit: '%', width: 2.4, align: 'decimal' },
      { head: 'Against the window', width: 3 },
    ],
    rows: holdings.map((one) => ({
      cells: [
        one.rate,
        one.mmPerYear.toFixed(3),
        one.sizeLeftMm.toFixed(2),
        (100 * one.strengthLeft).toFixed(1),
        one.holds ? 'stays above the limit' : 'falls below the limit',
      ],
      attention: !one.holds,
    })),
  });
  pdf.figure(degradationFigure(view));
  pdf.paragraph('What this takes for granted:');
  pdf.list(assumptionsOf(view));
}
