import type { Characteristic } from '../kinds/specification.js';
import type { SetValue } from './acceptance-set.js';

type Value = Pick<SetValue, 'piece' | 'replicate' | 'role'> & { readonly row: number | null };

const RULE = 'replicates are numbered from 1 on in each piece, and the planned number counts over all pieces';

/**
 * What is missing of one specimen, with the results that are there and the rule by which they count: a number left out
 * below one that is there is missing, and so is what the plan still asks for.
 * @returns undefined when nothing is missing.
 */
export function missingText({ replicates }: Pick<Characteristic, 'replicates'>, values: readonly Value[]) {
  const there = values.filter(({ row, role }) => row !== null && role !== 'invalid test');
  const missing = values.filter(({ row }) => row === null);
  if (missing.length === 0) return undefined;
  const rows = there.length === 0 ? '' : ` (results ${ranges(there.map(({ row }) => row!))})`;
  const gaps = leftOut(values);
  if (gaps.length === 0) return `${there.length} of ${there.length + missing.length} planned values are there${rows}`;
  const counts = `${there.length} values are there${rows}, ${replicates} are planned`;
  return `${counts}, and numbers are left out: ${gaps.join('; ')} (${RULE})`;
}

/** Numbers of each piece that are left out below one that is there, with the result that has it. */
function leftOut(values: readonly Value[]): string[] {
  return [...new Set(values.map(({ piece }) => piece))].flatMap((piece) => {
    const own = values.filter((value) => value.piece === piece);
    const highest = own.reduce<Value | undefined>(
      (top, value) => (value.row !== null && value.replicate > (top?.replicate ?? 0) ? value : top),
      undefined,
    );
    const gaps = own.filter(({ row, replicate }) => row === null && replicate < (highest?.replicate ?? 0));
    if (gaps.length === 0) return [];
    const numbers = ranges(gaps.map(({ replicate }) => replicate));
    const name = piece === '' ? 'without a piece' : `piece ${piece}`;
    return [`${name} has replicate ${highest!.replicate} (result ${highest!.row}) and no ${numbers}`];
  });
}

/** `1 to 5, 8` */
function ranges(numbers: readonly number[]): string {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const runs: [number, number][] = [];
  for (const number of sorted) {
    const last = runs.at(-1);
    if (last && last[1] === number - 1) last[1] = number;
    else runs.push([number, number]);
  }
  return runs
    .map(([from, to]) => (from === to ? `${from}` : to === from + 1 ? `${from}, ${to}` : `${from} to ${to}`))
    .join(', ');
}
