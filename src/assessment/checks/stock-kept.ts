import { digestOf } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { ShapeChange } from '../../kinds/degradation/shape-change.js';
import { fateOf } from '../../kinds/lot-after-build.js';
import { guardBand } from '../../statistics/decision-rules.js';
import { leastScanned, percentScanned } from '../least-scanned.js';
import { type StockChange, stockChanges } from '../shapes.js';
import { implantsOnStock } from '../stock.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const CONFIDENCE = 0.95;

const draft = (
  rule: string,
  serial: string,
  facts: FindingDraft['facts'],
  more: Partial<FindingDraft> = {},
): FindingDraft => ({
  ...{ rule, subjects: [subject('implant', serial)], facts: { implant: serial, ...facts }, units: [serial] },
  ...{ effect: 'cannot be decided', mayBeDecided: 'decision' },
  ...more,
});

/** It tells nothing of how the stock lies, which is of the case: the digest of what was measured makes it one of its own. */
function findingsOf(facts: Facts, { implant: { serial }, scan, change }: StockChange): FindingDraft[] {
  const told = { scan: scan.scan, textSha256: change ? digestOf(change) : '' };
  if (change === undefined) return [draft('change not measured', serial, told, { mayBeDecided: 'no' })];
  if (change.change === undefined) return [draft('nothing compared', serial, told)];
  const unseen = unseenOf(facts, serial, told, change);
  const { mostChangeMm } = facts.specification.body.builtOnStock ?? {};
  if (mostChangeMm === undefined) return unseen;
  const [most, largest] = [Number(mostChangeMm), Math.abs(change.change.worst.changeMm)];
  if (change.uncertaintyMm === undefined) {
    if (largest > most) return [...unseen, draft('stock changed', serial, told, CHANGED)];
    return [...unseen, draft('uncertainty not stated', serial, told)];
  }
  const guard = guardBand(change.uncertaintyMm, CONFIDENCE);
  if (largest > most + guard) return [...unseen, draft('stock changed', serial, told, CHANGED)];
  return largest > most - guard ? [...unseen, draft('not known to be as before', serial, told)] : unseen;
}

/** Whether both scans together show too little, or the later one lost something of which the specification limits the change. */
function unseenOf(
  facts: Facts,
  serial: string,
  told: FindingDraft['facts'],
  { comparedShare, lostShare, reachMm }: ShapeChange,
): FindingDraft[] {
  const { percent } = leastScanned(facts, undefined);
  const compared = percentScanned(comparedShare);
  const isLimited = facts.specification.body.builtOnStock?.mostChangeMm !== undefined;
  const value = compared.toFixed(1);
  return [
    ...(compared >= percent ? [] : [draft('barely compared', serial, { ...told, value, least: String(percent) })]),
    ...(isLimited && lostShare > 0
      ? [draft('stock not found again', serial, { ...told, value: percentLost(lostShare), limit: reachText(reachMm) })]
      : []),
  ];
}

const percentLost = (share: number): string => (100 * share).toFixed(1);
const reachText = (reachMm: number): string => String(Number(reachMm.toPrecision(2)));

const CHANGED = { effect: 'does not conform', mayBeDecided: 'concession' } as const;

export const stockKept: Check = {
  code: 'stock-kept',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 7.5.10, 8.2.6; ISO 14253-1',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    const { mostChangeMm } = facts.specification.body.builtOnStock ?? {};
    const given = implantsOnStock(facts).filter(({ part }) => facts.caseParts.has(part.case));
    const changes = stockChanges(facts);
    const isSettled = (serial: string) =>
      fateOf(facts.lot.body, serial) !== undefined || changes.some(({ implant }) => implant.serial === serial);
    const without = given.filter(({ part }) => mostChangeMm !== undefined && !isSettled(part.serial));
    return {
      findings: [
        ...without.map(({ part, stock }) =>
          draft('not scanned before and after', part.serial, { stockPart: stock.body.stockPart }),
        ),
        ...changes.flatMap((of) => findingsOf(facts, of)),
      ],
      basis: { scans: String(changes.length), limit: mostChangeMm ?? '' },
      doesNotApply: changes.length + without.length === 0,
    };
  },
};
