import type { SetValue } from './acceptance-set.js';
import { counts } from './assessment.js';
import type { MissingValues, Range } from './reasons.js';

type Value = Pick<SetValue, 'piece' | 'replicate' | 'role'> & { readonly row: number | null };

/**
 * What is missing of one specimen, with the results that are there: a number left out below one that is there is missing,
 * and so is what the plan still asks for.
 */
export function missingValues(values: readonly Value[]): MissingValues {
  const there = values.filter((value) => value.row !== null && counts(value));
  return {
    found: there.length,
    missing: values.filter(({ row }) => row === null).length,
    rows: ranges(there.map(({ row }) => row!)),
    leftOut: leftOut(values),
  };
}

/** Numbers of each piece that are left out below one that is there, with the result that has it. */
function leftOut(values: readonly Value[]): MissingValues['leftOut'] {
  return [...new Set(values.map(({ piece }) => piece))].flatMap((piece) => {
    const own = values.filter((value) => value.piece === piece);
    const highest = own.reduce<Value | undefined>(
      (top, value) => (value.row !== null && value.replicate > (top?.replicate ?? 0) ? value : top),
      undefined,
    );
    const gaps = own.filter(({ row, replicate }) => row === null && replicate < (highest?.replicate ?? 0));
    if (gaps.length === 0) return [];
    const numbers = ranges(gaps.map(({ replicate }) => replicate));
    return [{ piece, replicate: highest!.replicate, row: highest!.row!, numbers }];
  });
}

function ranges(numbers: readonly number[]): Range[] {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const runs: Range[] = [];
  for (const number of sorted) {
    const last = runs.at(-1);
    if (last && last.to === number - 1) last.to = number;
    else runs.push({ from: number, to: number });
  }
  return runs;
}
