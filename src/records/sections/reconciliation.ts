import path from 'node:path';
import { type CountLine, countedTwice, implantFates } from '../../assessment/counts.js';
import { destroyingValues } from '../../assessment/gone-parts.js';
import { identified } from '../../assessment/label-codes.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Gone } from '../../kinds/lot-after-build.js';
import type { RecordPage } from '../../pdf/page.js';
import { COUNTED, PART_FATES } from '../../report/phrases/counts.js';
import { RECONCILIATION } from '../../report/phrases/record-reconciliation.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { decidedUnits } from '../signatures.js';
import { personText } from './post-process.js';

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
    caption: RECONCILIATION.quantities,
    columns: [
      { head: RECONCILIATION.what, width: 5 },
      { head: RECONCILIATION.number, width: 1.4, align: 'right' },
      { head: RECONCILIATION.which, width: 8 },
    ],
    rows: [
      [RECONCILIATION.implantsNamed, String(told.length), told.map(({ serial }) => serial).join(', ')],
      [
        RECONCILIATION.couponsNamed,
        String(lot.body.coupons.length),
        lot.body.coupons.map(({ coupon }) => coupon).join(', '),
      ],
      [RECONCILIATION.proposed, String(verdicts.length), verdictCounts(verdicts)],
      [RECONCILIATION.made, String(implants.total), implants.sum === implants.total ? '' : doesNotAddUp(implants)],
      ...implants.parts
        .filter(({ count: n }) => n > 0)
        .map(({ fate, count: n, serials = [] }) => [
          RECONCILIATION.ofThese(COUNTED[fate]),
          String(n),
          serials.join(', '),
        ]),
      [RECONCILIATION.ofTheseNone, '0', none.map(({ fate }) => COUNTED[fate]).join(', ')],
    ],
  });
  drawGone(pdf, view);
  if (labels) {
    pdf.facts(
      [
        [RECONCILIATION.labelsPrinted, String(labels.printed)],
        [RECONCILIATION.labelsUsed, String(labels.used)],
        [RECONCILIATION.labelsDestroyed, String(labels.destroyed)],
        [RECONCILIATION.labelsMissing, String(labels.printed - labels.used - labels.destroyed)],
        ...(labels.inspected
          ? [
              [
                RECONCILIATION.labelsInspected,
                RECONCILIATION.inspectedBy(
                  labels.inspected.sample,
                  personText(facts, labels.inspected.by),
                  timeText(labels.inspected.at),
                ),
              ] as const,
            ]
          : []),
      ],
      { small: true },
    );
    drawCodes(pdf, view, labels.read ?? []);
  } else pdf.paragraph(RECONCILIATION.labelsNotCounted);
}

/** Implants and coupons that were used up, kept or destroyed, each with what shows it. */
function drawGone(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const { fates = [], moved = [], came = [], coupons, splitFrom } = facts.lot.body;
  const isTold = tellsOf(view);
  if (came.length > 0) {
    pdf.paragraph(
      RECONCILIATION.came(
        came.map(({ part }) => part).filter((part) => coupons.some(({ coupon }) => coupon === part) || isTold(part)),
        splitFrom!,
        [...new Set(came.map(({ move }) => move))],
      ),
    );
  }
  const gone = [...moved, ...fates].filter(({ part }) => coupons.some(({ coupon }) => coupon === part) || isTold(part));
  if (gone.length === 0) return;
  pdf.table({
    caption: RECONCILIATION.gone,
    columns: [
      { head: RECONCILIATION.part, width: 2.2 },
      { head: RECONCILIATION.became, width: 2.4 },
      { head: RECONCILIATION.at, width: 2.6 },
      { head: RECONCILIATION.by, width: 3 },
      { head: RECONCILIATION.evidence, width: 4 },
    ],
    rows: gone.map((fate) => [
      fate.part,
      PART_FATES[fate.as],
      timeText(fate.at),
      personText(facts, fate.by),
      evidenceText(facts, fate),
    ]),
  });
}

function evidenceText(facts: Facts, gone: Gone): string {
  if (gone.as === 'moved') return RECONCILIATION.moved(gone.lot, gone.move);
  const { part, evidence } = gone;
  const values = destroyingValues(facts, part).length;
  const all = [
    ...(values > 0 ? [RECONCILIATION.values(values)] : []),
    ...(evidence === undefined ? [] : [path.posix.basename(evidence)]),
  ];
  return all.join('; ') || RECONCILIATION.noEvidence;
}

/** What the reader gave, and which implant it names. */
function drawCodes(pdf: RecordPage, view: RecordView, read: readonly string[]): void {
  const isTold = tellsOf(view);
  const codes = read
    .map((text, index) => ({ text, number: index + 1, serial: identified(view.facts, text)?.serial }))
    .filter(({ serial }) => (serial === undefined ? view.facts.withheldCases.length === 0 : isTold(serial)));
  if (codes.length === 0) return;
  pdf.table({
    caption: RECONCILIATION.codes,
    columns: [
      { head: RECONCILIATION.place, width: 0.8, align: 'right' },
      { head: RECONCILIATION.read, width: 9 },
      { head: RECONCILIATION.names, width: 4 },
    ],
    rows: codes.map(({ text, number, serial }) => [String(number), text, serial ?? RECONCILIATION.notReadable]),
  });
}

const doesNotAddUp = (line: CountLine): string =>
  RECONCILIATION.doesNotAddUp(
    line.sum,
    countedTwice(line).map(({ serial, fates }) =>
      RECONCILIATION.countedTwice(
        serial,
        fates.map((fate) => COUNTED[fate]),
      ),
    ),
  );
