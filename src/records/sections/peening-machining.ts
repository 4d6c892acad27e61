import { type ConsumableUse, consumableUses, momentOfUse, usesUpTo } from '../../assessment/consumable-uses.js';
import { orderedTo } from '../../assessment/material-lines.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { entryText } from '../../report/phrases/kinds.js';
import { PEENING_MACHINING } from '../../report/phrases/record-peening-machining.js';
import { materialCategoryText, stepText } from '../../report/phrases/trade-codes.js';
import { type RecordView, tellsOf } from '../record-view.js';

/** What hammered, what cut, and whatever else touched the parts and wears out, each by its number. */
export function drawPeeningMachining(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  const uses = consumableUses(facts).filter(({ implants }) => implants.length === 0 || implants.some(isTold));
  if (uses.length === 0) pdf.paragraph(PEENING_MACHINING.none);
  else
    pdf.table({
      caption: PEENING_MACHINING.caption,
      columns: [
        { head: PEENING_MACHINING.number, width: 2.2 },
        { head: PEENING_MACHINING.what, width: 2.8 },
        { head: PEENING_MACHINING.takenFrom, width: 3.4 },
        { head: PEENING_MACHINING.inUse, width: 3 },
        { head: PEENING_MACHINING.usedIn, width: 3 },
        { head: PEENING_MACHINING.uses, width: 1.6, align: 'right' },
      ],
      rows: uses.map((use) => rowOf(facts, use)),
    });
  pdf.paragraph(PEENING_MACHINING.settingsAt, { small: true });
}

function rowOf(facts: Facts, use: ConsumableUse): string[] {
  const { consumable, usedIn, step, zones, uses } = use;
  const body = facts.consumables.get(consumable)?.body;
  const where = [
    entryText(usedIn.kind, usedIn.key, null),
    step === undefined ? PEENING_MACHINING.gas : stepText(step),
    ...(zones ?? []),
  ].join(', ');
  if (body === undefined) return [consumable, PEENING_MACHINING.notStated, '', '', where, String(uses)];
  return [
    consumable,
    PEENING_MACHINING.of(materialCategoryText(body.category), body.material),
    body.made.map((taken) => sourceText(facts, taken)).join('; '),
    PEENING_MACHINING.fromTo(timeText(body.inUseFrom), body.retiredAt === undefined ? null : timeText(body.retiredAt)),
    where,
    usesText(facts, use),
  ];
}

/** How often by the lot there, and where there is a limit, how often by whatever lots up to then. */
function usesText(facts: Facts, use: ConsumableUse): string {
  const at = momentOfUse(facts, use);
  const most = orderedTo(facts, facts.consumables.get(use.consumable)!.body)?.body.inUseLimit?.uses;
  if (most === undefined || at === undefined) return String(use.uses);
  return PEENING_MACHINING.usesOf(use.uses, usesUpTo(facts, use.consumable, at), most);
}

/** What it was taken from, with the lot of its supplier. */
function sourceText(facts: Facts, taken: { receipt: string } | { consumable: string }): string {
  if ('consumable' in taken) return taken.consumable;
  const found = facts.receipts.get(taken.receipt)?.body;
  return found ? PEENING_MACHINING.receiptOf(taken.receipt, found.supplierLot) : taken.receipt;
}
