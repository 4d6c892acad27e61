import type { CapabilityResult } from '../../assessment/assessment.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { FamilyBefore } from '../family-before.js';
import { limitsText } from './limits.js';
import { besideSpread, indexText, spreadText } from './rounded.js';

/** What the family shows otherwise than in the record before, of one characteristic. */
export function sinceBeforeText(before: FamilyBefore | null, now: CapabilityResult, item: Characteristic): string {
  if (before === null)
    return 'no record of an earlier lot of the family was issued that this version of the program reads';
  const name = `${before.record.number} revision ${before.record.revision}`;
  const then = before.capability.find(({ characteristic }) => characteristic === now.characteristic);
  if (then === undefined) return `${name} says nothing of it`;
  const more = `${countText(now.lots - then.lots, 'lot')}, ${countText(now.n - then.n, 'value')}`;
  return `${ppkAgainst(now, item)} was ${indexText(then.ppk)} in ${name} (n = ${then.n}), now ${indexText(now.ppk)} (n = ${now.n}): ${more}${movesText(then, now, item)}.`;
}

/** The index then, briefly. */
export function ppkBeforeText(before: FamilyBefore | null, now: CapabilityResult, item: Characteristic): string {
  if (before === null) return 'no earlier record of the family to compare with';
  const name = `${before.record.number} revision ${before.record.revision}`;
  const then = before.capability.find(({ characteristic }) => characteristic === now.characteristic);
  return then === undefined
    ? `${name} says nothing of it`
    : `${ppkAgainst(now, item)} was ${indexText(then.ppk)} in ${name}`;
}

/** Beside an index against moved limits: the one that is compared is against those of the specification. */
const ppkAgainst = ({ applied }: CapabilityResult, item: Characteristic): string =>
  applied === null ? 'Ppk' : `Ppk against ${limitsText(item)}`;

/** `1 lot more`, `2 values fewer`. */
function countText(difference: number, what: string): string {
  const count = Math.abs(difference);
  if (count === 0) return `as many ${what}s`;
  return `${count} ${what}${count === 1 ? '' : 's'} ${difference > 0 ? 'more' : 'fewer'}`;
}

type Moved = Pick<CapabilityResult, 'mean' | 'sd'>;

/** In the digits that are shown: what shows no difference stayed. */
function movesText(then: Moved, now: Moved, { ucum }: Characteristic): string {
  if (then.sd === null || now.sd === null) return '';
  const unit = tradeUnit(ucum);
  const spreads = [spreadText(then.sd), spreadText(now.sd)];
  const means = [besideSpread(then.mean, now.sd), besideSpread(now.mean, now.sd)];
  const spread =
    spreads[0] === spreads[1]
      ? `the standard deviation stayed at ${spreads[1]} ${unit}`
      : `the standard deviation ${now.sd > then.sd ? 'grew' : 'fell'} from ${spreads[0]} to ${spreads[1]} ${unit}`;
  const mean =
    means[0] === means[1]
      ? `the mean stayed at ${means[1]} ${unit}`
      : `the mean went from ${means[0]} to ${means[1]} ${unit}`;
  return `; ${spread}, ${mean}`;
}
