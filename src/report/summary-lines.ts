import { appliedLimits } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import { namesText } from '../dossier/statement.js';
import {
  characteristicAnchor,
  checkAnchor,
  familyAnchor,
  RESULT_ROWS,
  sectionAnchor,
  verdictAnchor,
} from './anchors.js';
import { checkTitle } from './assessment-words.js';
import type { Exception, LotSummary } from './lot-summary.js';
import type { NotChecked } from './not-checked.js';
import { signalText } from './phrases/capability.js';
import { appliedLimitsText } from './phrases/limits.js';
import { LOT_SUMMARY } from './phrases/lot-summary.js';
import type { SectionName } from './record-template.js';

/** One exception in words, and the places of the record where it is told in full. */
export interface SummaryLine {
  readonly says: string;
  /** Anchors in the record: the first and the last place where there are several. */
  readonly anchors: readonly string[];
}

/**
 * Every exception of a lot in words, one line each.
 * @param isTold whether a part of the lot may be named: a copy for one institution names no serial of another case.
 * @param isBrief names the first of many implants and nonconformities alone.
 */
export function summaryLines(
  { exceptions }: Pick<LotSummary, 'exceptions'>,
  facts: Facts,
  isTold: (part: string) => boolean = () => true,
  isBrief = false,
): SummaryLine[] {
  const items = new Map(facts.specification.body.characteristics.map((item) => [item.characteristic, item]));
  const titleOf = (characteristic: string) => items.get(characteristic)?.title ?? characteristic;
  const told = (rows: readonly number[]) => rows.filter((row) => isTold(facts.results[row - 1]!.specimen));

  const listed = (names: readonly string[]) => (isBrief && names.length > 0 ? [namesText(names)] : names);

  const lineOf = (one: Exception): SummaryLine[] => {
    const units = 'units' in one ? listed(one.units.filter(isTold)) : [];
    // Nothing of it may be told here.
    if ('units' in one && one.units.length > 0 && units.length === 0) return [];
    switch (one.code) {
      case 'check':
        return [line(LOT_SUMMARY.check(checkTitle(one.check), one.outcome, units), checkAnchor(one.check))];
      case 'values': {
        const rows = told(one.rows);
        const item = items.get(one.characteristic);
        const limits = item ? appliedLimitsText(item, appliedLimits(facts, item)) : '';
        const says = LOT_SUMMARY.values(titleOf(one.characteristic), one.verdict, {
          limits,
          rows: numbersText(rows),
          values: rows.map((row) => facts.results[row - 1]!.value),
          missing: one.missing,
          units,
        });
        return [
          line(says, ...(rows.length > 0 ? ends(rows, verdictAnchor) : [characteristicAnchor(one.characteristic)])),
        ];
      }
      case 'plan':
        return [
          line(
            LOT_SUMMARY.plan(titleOf(one.characteristic), one.verdict, units),
            characteristicAnchor(one.characteristic),
          ),
        ];
      case 'log findings':
        return [line(LOT_SUMMARY.logFindings(one.level, one.count), 'log findings')];
      case 'decided':
        return [line(LOT_SUMMARY.decided(checkTitle(one.check), one.findings, units), checkAnchor(one.check))];
      case 'signal': {
        const says = signalText(one.rule, one.value, one.centre);
        return isTold(one.specimen)
          ? [
              line(
                LOT_SUMMARY.signal(titleOf(one.characteristic), one.specimen, one.value, says),
                familyAnchor(one.characteristic),
              ),
            ]
          : [];
      }
      case 'no-uncertainty': {
        const rows = told(one.rows);
        const where = one.characteristics.map(titleOf);
        return rows.length === 0 ? [] : [line(LOT_SUMMARY.noUncertainty(rows.length, one.of, where), RESULT_ROWS)];
      }
      case 'at-risk':
        return [line(LOT_SUMMARY.atRisk(one, units), checkAnchor('risk-build-signed'))];
      case 'nonconformities':
        return [line(LOT_SUMMARY.nonconformities(one.keys, units), sectionAnchor('nonconformities'))];
      case 'concession':
        return [line(LOT_SUMMARY.concession(one.nonconformity, one.clause, units), sectionAnchor('nonconformities'))];
      case 'rework':
        return [line(LOT_SUMMARY.rework(one.instruction, one.nonconformity, units), sectionAnchor('nonconformities'))];
      case 'moved':
        return [line(LOT_SUMMARY.moved(one.lot, one.move, one.left, units), sectionAnchor('reconciliation'))];
      case 'late-facts':
        return [line(LOT_SUMMARY.lateFacts(one.count), 'corrections')];
      case 'several-for-a-case':
        return [line(LOT_SUMMARY.severalForACase(units), sectionAnchor('identity'))];
      case 'open-test':
        return [line(LOT_SUMMARY.openTest(titleOf(one.characteristic), units), 'open tests')];
      case 'late':
      case 'corrected': {
        const rows = told(one.rows);
        return rows.length === 0
          ? []
          : [line(LOT_SUMMARY.rows(one.code, rows.length, numbersText(rows)), 'corrections')];
      }
      default: {
        const rows = told(one.rows);
        return rows.length === 0 ? [] : [line(LOT_SUMMARY.rows(one.code, rows.length, numbersText(rows)), RESULT_ROWS)];
      }
    }
  };
  return exceptions.flatMap(lineOf);
}

const line = (says: string, ...anchors: string[]): SummaryLine => ({ says, anchors });

const ends = (rows: readonly number[], anchorOf: (row: number) => string): string[] =>
  [...new Set([rows[0]!, rows.at(-1)!])].map(anchorOf);

/** `3, 5 to 9`: every number is told, however many there are. */
function numbersText(numbers: readonly number[]): string {
  const ranges: { from: number; to: number }[] = [];
  for (const number of numbers) {
    const last = ranges.at(-1);
    if (last && number === last.to + 1) last.to = number;
    else ranges.push({ from: number, to: number });
  }
  return ranges.map(({ from, to }) => LOT_SUMMARY.range(from, to)).join(', ');
}

const SECTION_OF: Readonly<Record<NotChecked, SectionName>> = {
  shape: 'inspection',
  'law-and-route': 'identity',
  'material-as-ordered': 'materials',
};

/** Each thing that this version does not check, with the place of the record that says so. */
export const notCheckedLines = ({ notChecked }: Pick<LotSummary, 'notChecked'>): SummaryLine[] =>
  notChecked.map((code) => line(LOT_SUMMARY.notChecked[code], sectionAnchor(SECTION_OF[code])));
