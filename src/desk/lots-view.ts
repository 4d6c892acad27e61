import type { LotLine } from '../lots/lot-line.js';
import { lotAddress } from '../report/page-addresses.js';
import { LOT_STAGE_WORDS } from '../report/phrases/lot-header.js';
import { TODAY } from '../report/phrases/today.js';
import type { Waiting } from '../signing/waiting-list.js';

/** Lots as a table: implants, needed by, how far, and whom each waits for. */
export function lotRows(lines: readonly LotLine[], waiting: readonly Waiting[], names: ReadonlyMap<string, string>) {
  return lines.map((line) => ({
    ...line,
    to: lotAddress(line.lot),
    stageSays: LOT_STAGE_WORDS[line.stage],
    waitsFor: waitsFor(line, waiting, names),
    record: line.record && { ...line.record, to: `${lotAddress(line.lot)}/record.pdf` },
  }));
}

/** So many people are named; of more how many. */
const MOST_NAMED = 3;

function waitsFor(
  { lot, assessed, outOfDate, ofEarlierVersion }: LotLine,
  waiting: readonly Waiting[],
  names: ReadonlyMap<string, string>,
): string {
  const own = waiting.filter((item) => item.lot === lot);
  const people = [...new Set(own.flatMap(({ who }) => who))].map((code) => names.get(code) ?? code).sort();
  if (people.length === 0) {
    if (own.length > 0) return TODAY.nobodyWhoMay;
    return assessed && !outOfDate && !ofEarlierVersion ? '' : TODAY.toBeAssessed;
  }
  const more = people.length - MOST_NAMED;
  return [...people.slice(0, MOST_NAMED), ...(more > 0 ? [TODAY.morePeople(more)] : [])].join(', ');
}
