import { type CountLine, countsOf } from '../../assessment/counts.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Recipe } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import { notRecordedText } from '../../report/phrases/not-recorded.js';
import type { RecordView } from '../record-view.js';
import { decidedCount } from '../signatures.js';

/** What hammered and what cut: media, tools, and the settings of both steps. */
export function drawPeeningMachining(pdf: RecordPage, { facts }: RecordView): void {
  const used = [...facts.receipts.values()].filter(
    ({ body }) => body.category === 'peening media' || body.category === 'tool',
  );
  pdf.table({
    caption: 'Peening media and tools that the lot file names',
    columns: ['Receipt', 'What', 'Material', 'Supplier lot', 'Received', 'Status'].map((head) => ({ head })),
    rows: used.map(({ body }) => [
      body.receipt,
      body.category,
      body.material,
      body.supplierLot,
      timeText(body.receivedAt),
      body.status,
    ]),
    empty: notRecordedText('Media and tool numbers'),
  });
  pdf.table({
    caption: 'Settings of peening and milling',
    columns: [
      { head: 'Recipe', width: 2.4 },
      { head: 'Zone', width: 2.2 },
      { head: 'Step', width: 1.2 },
      { head: 'Every', unit: 'layers', width: 1, align: 'right' },
      { head: 'Settings', width: 6 },
    ],
    rows: [...facts.recipes].flatMap(([key, { body }]) =>
      body.zones.flatMap((zone) =>
        zone.steps
          .filter(({ step }) => step !== 'deposit')
          .map((step) => [key, zone.zone, step.step, String(step.everyLayers), settingsText(step)]),
      ),
    ),
    empty: 'The recipe asks for neither.',
  });
  pdf.paragraph('How both went, zone by zone, stands in the log summary of the build.');
}

export const settingsText = ({ parameters }: Recipe['zones'][number]['steps'][number]): string =>
  parameters.map((item) => `${item.parameter} ${item.set} ${tradeUnit(item.ucum)}`).join('; ');

/** Steps after the build, up to the sterile pack. */
export function drawPostProcess(pdf: RecordPage, { facts }: RecordView): void {
  pdf.table({
    caption: 'Steps after the build',
    columns: [
      { head: 'Step', width: 1.6 },
      { head: 'When', width: 2.6 },
      { head: 'By', width: 3 },
      { head: 'Load', width: 1.8 },
      { head: 'Parts', width: 3 },
      { head: 'Note', width: 3.6 },
    ],
    rows: facts.lot.body.steps.map((step) => [
      step.step,
      timeText(step.at),
      personText(facts, step.by),
      step.load ?? 'none named',
      step.parts?.join(', ') ?? 'the whole lot',
      step.note ?? 'none',
    ]),
    empty: 'No step was recorded.',
  });
  const sterile = facts.family.body.sterile === 'sterile';
  if (sterile) pdf.paragraph(notRecordedText('Indicators of the sterile load, pack and expiry'));
  else pdf.paragraph(`The family is delivered non-sterile. ${notRecordedText('Cleaning residues and pack')}`);
}

export function personText(facts: Facts, code: string): string {
  const known = facts.people.get(code)?.body.name;
  return known === undefined ? code : `${known} (${code})`;
}

/** How many were made, and what became of them and of their labels. */
export function drawReconciliation(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment } = view;
  const { lot } = facts;
  const { labels } = lot.body;
  const { implants } = countsOf(facts, decidedCount(view));
  const count = (verdict: string) => String(assessment.units.filter((unit) => unit.verdict === verdict).length);
  pdf.table({
    caption: 'Quantities, as the lot file names and counts its parts and as people decided on them',
    columns: [
      { head: 'What', width: 5 },
      { head: 'Number', width: 1.4, align: 'right' },
      { head: 'Which', width: 8 },
    ],
    rows: [
      ['Implants named', String(lot.body.implants.length), lot.body.implants.map(({ serial }) => serial).join(', ')],
      ['Coupons named', String(lot.body.coupons.length), lot.body.coupons.map(({ coupon }) => coupon).join(', ')],
      ['Implants proposed as conforming', count('conforms'), ''],
      ['Implants proposed as not conforming', count('does not conform'), ''],
      ['Implants not decided by the program', count('cannot be decided'), ''],
      ...(implants
        ? [
            ['Made, as counted', String(implants.total), implants.sum === implants.total ? '' : doesNotAddUp(implants)],
            ...implants.parts.map(({ title, count: n }) => [`Of these ${title}`, String(n), '']),
          ]
        : []),
    ],
  });
  if (!implants) pdf.paragraph('The lot file does not count what became of its implants.');
  if (labels) {
    pdf.facts([
      ['Labels printed', String(labels.printed)],
      ['Labels used', String(labels.used)],
      ['Labels destroyed', String(labels.destroyed)],
      ['Labels not accounted for', String(labels.printed - labels.used - labels.destroyed)],
    ]);
  } else pdf.paragraph('The lot file does not count its labels.');
}

const doesNotAddUp = ({ sum }: CountLine): string => `does not add up: what follows makes ${sum}`;
