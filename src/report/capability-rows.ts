import type { CapabilityResult } from '../assessment/assessment.js';
import { PART_NAMES } from '../dossier/facts.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import type { FamilyBefore } from './family-before.js';
import {
  beyondLimitsText,
  boundsText,
  capabilityMethodText,
  capabilityNoteText,
  excludedText,
  keepingText,
  limitsFixedText,
  normalityText,
  ownPointsText,
  ppkMovedText,
  ppkText,
  signalTexts,
  spreadWithinText,
  takenOutText,
  targetText,
} from './phrases/capability.js';
import { sinceBeforeText } from './phrases/family-before.js';
import { limitsText } from './phrases/limits.js';
import { STATISTICS } from './phrases/record-statistics.js';
import { besideSpread, spreadText } from './phrases/rounded.js';

/**
 * What page and record say of one characteristic of the family, line by line; what there is nothing to say of is left out.
 * @param before what the record before said of it; null without one, undefined where nothing is compared.
 */
export function capabilityRows(
  item: Characteristic,
  capability: CapabilityResult,
  before?: FamilyBefore | null,
): (readonly [string, string])[] {
  const { n, builds, mean, sd, method, takenOut, chart } = capability;
  const unit = tradeUnit(item.ucum);
  const rows: (readonly [string, string])[] = [
    [STATISTICS.limits, `${limitsText(item)} ${unit}`],
    [STATISTICS.earlierValues, STATISTICS.earlierOf(n, builds, excludedText(capability))],
    [STATISTICS.beyondLimits, beyondLimitsText(capability, item)],
    [
      STATISTICS.meanAndStandardDeviation,
      mean === null ? '' : STATISTICS.meanOf(besideSpread(mean, sd), spreadText(sd), unit),
    ],
    [STATISTICS.withinAndBetween, spreadWithinText(capability, item)],
    [STATISTICS.normality, normalityText(capability)],
    [STATISTICS.ppk, ppkText(capability)],
    [STATISTICS.ppkMoved, ppkMovedText(capability)],
    [STATISTICS.bounds, boundsText(capability)],
    [STATISTICS.whateverDistribution, keepingText(capability)],
    [STATISTICS.target, targetText(capability)],
    [STATISTICS.sinceBefore, before === undefined ? '' : sinceBeforeText(before, capability, item)],
    [STATISTICS.method, method === null ? '' : capabilityMethodText(method)],
    [STATISTICS.takenOut, takenOut.values === 0 ? '' : takenOutText(capability)],
    [STATISTICS.chart, chart === null ? '' : limitsFixedText(chart)],
    [STATISTICS.ownPoints, ownPointsText(capability, item)],
    ...signalTexts(capability).map((text) => [STATISTICS.signal, text] as const),
    [STATISTICS.notes, capability.notes.map(capabilityNoteText).join(' ')],
    [STATISTICS.values, STATISTICS.valuesOf(PART_NAMES.history, item.characteristic)],
  ];
  return rows.filter(([, says]) => says !== '');
}
