import { type CountLine, countedTwice, implantFates } from '../../assessment/counts.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { LotStep } from '../../kinds/lot-after-build.js';
import type { Recipe } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import { COUNTED } from '../../report/phrases/counts.js';
import { notRecordedText } from '../../report/phrases/not-recorded.js';
import { POST_PROCESS } from '../../report/phrases/record-post-process.js';
import { materialCategoryText, receiptStatusText, stepText } from '../../report/phrases/trade-codes.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { decidedUnits } from '../signatures.js';

/** What hammered and what cut: media and tools. */
export function drawPeeningMachining(pdf: RecordPage, { facts }: RecordView): void {
  const used = [...facts.receipts.values()].filter(
    ({ body }) => body.category === 'peening media' || body.category === 'tool',
  );
  pdf.table({
    caption: POST_PROCESS.mediaAndTools,
    columns: [
      POST_PROCESS.receipt,
      POST_PROCESS.what,
      POST_PROCESS.material,
      POST_PROCESS.supplierLot,
      POST_PROCESS.received,
      POST_PROCESS.status,
    ].map((head) => ({ head })),
    rows: used.map(({ body }) => [
      body.receipt,
      materialCategoryText(body.category),
      body.material,
      body.supplierLot,
      timeText(body.receivedAt),
      receiptStatusText(body.status),
    ]),
    empty: notRecordedText(POST_PROCESS.numbers),
  });
  pdf.paragraph(POST_PROCESS.settingsAt, { small: true });
}

export const settingsText = ({ parameters }: Recipe['zones'][number]['steps'][number]): string =>
  parameters.map((item) => `${item.parameter} ${item.set} ${tradeUnit(item.ucum)}`).join('; ');

/** Steps after the build, up to the sterile pack. */
export function drawPostProcess(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  pdf.table({
    caption: POST_PROCESS.steps,
    columns: [
      { head: POST_PROCESS.step, width: 1.6 },
      { head: POST_PROCESS.when, width: 2.6 },
      { head: POST_PROCESS.by, width: 3 },
      { head: POST_PROCESS.load, width: 1.8 },
      { head: POST_PROCESS.parts, width: 3 },
      { head: POST_PROCESS.note, width: 3.6 },
    ],
    rows: facts.lot.body.steps
      .filter(({ parts }) => parts === undefined || parts.some(isTold))
      .map((step) => [
        stepText(step.step),
        timeText(step.at),
        personText(facts, step.by),
        step.load ?? POST_PROCESS.noneNamed,
        step.parts?.filter(isTold).join(', ') ?? POST_PROCESS.wholeLot,
        noteText(step) || POST_PROCESS.none,
      ]),
    empty: POST_PROCESS.noStep,
  });
  const sterile = facts.family.body.sterile === 'sterile';
  if (sterile) pdf.paragraph(notRecordedText(POST_PROCESS.sterileLoad));
  else pdf.paragraph(POST_PROCESS.nonSterile(notRecordedText(POST_PROCESS.cleaning)));
}

/** What was noted of a step, and by which instruction it was done again. */
const noteText = ({ note, instruction }: LotStep): string =>
  [...(instruction ? [POST_PROCESS.reworkBy(instruction.instruction, instruction.revision)] : []), note ?? '']
    .filter(Boolean)
    .join('; ');

export function personText(facts: Facts, code: string): string {
  const known = facts.people.get(code)?.body.name;
  return known === undefined ? code : `${known} (${code})`;
}

/** How many were made, and what became of them and of their labels. */
export function drawReconciliation(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const { lot } = facts;
  const { labels } = lot.body;
  const told = lot.body.implants.filter(({ serial }) => tellsOf(view)(serial));
  const implants = implantFates({ ...lot.body, implants: told }, decidedUnits(view));
  const none = implants.parts.filter(({ count: n }) => n === 0);
  const verdicts = shownUnits(view).map(({ verdict }) => verdict);
  pdf.table({
    caption: POST_PROCESS.quantities,
    columns: [
      { head: POST_PROCESS.what, width: 5 },
      { head: POST_PROCESS.number, width: 1.4, align: 'right' },
      { head: POST_PROCESS.which, width: 8 },
    ],
    rows: [
      [POST_PROCESS.implantsNamed, String(told.length), told.map(({ serial }) => serial).join(', ')],
      [
        POST_PROCESS.couponsNamed,
        String(lot.body.coupons.length),
        lot.body.coupons.map(({ coupon }) => coupon).join(', '),
      ],
      [POST_PROCESS.proposed, String(verdicts.length), verdictCounts(verdicts)],
      [POST_PROCESS.made, String(implants.total), implants.sum === implants.total ? '' : doesNotAddUp(implants)],
      ...implants.parts
        .filter(({ count: n }) => n > 0)
        .map(({ fate, count: n, serials = [] }) => [
          POST_PROCESS.ofThese(COUNTED[fate]),
          String(n),
          serials.join(', '),
        ]),
      [POST_PROCESS.ofTheseNone, '0', none.map(({ fate }) => COUNTED[fate]).join(', ')],
    ],
  });
  if (labels) {
    pdf.facts([
      [POST_PROCESS.labelsPrinted, String(labels.printed)],
      [POST_PROCESS.labelsUsed, String(labels.used)],
      [POST_PROCESS.labelsDestroyed, String(labels.destroyed)],
      [POST_PROCESS.labelsMissing, String(labels.printed - labels.used - labels.destroyed)],
      ...(labels.inspected
        ? [
            [
              POST_PROCESS.labelsInspected,
              POST_PROCESS.inspectedBy(
                labels.inspected.sample,
                personText(facts, labels.inspected.by),
                timeText(labels.inspected.at),
              ),
            ] as const,
          ]
        : []),
    ]);
  } else pdf.paragraph(POST_PROCESS.labelsNotCounted);
}

const doesNotAddUp = (line: CountLine): string =>
  POST_PROCESS.doesNotAddUp(
    line.sum,
    countedTwice(line).map(({ serial, fates }) =>
      POST_PROCESS.countedTwice(
        serial,
        fates.map((fate) => COUNTED[fate]),
      ),
    ),
  );
