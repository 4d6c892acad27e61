/**
 * Indices in the order of two keys, by merging the runs that are in order already: what a document groups by data item is
 * a few long runs, and what it lists by time is one.
 * @param from the first index that takes part.
 */
export function orderOf(from: number, to: number, first: Float64Array, second: Float64Array): Uint32Array {
  const isBehind = (a: number, b: number): boolean =>
    first[a]! > first[b]! || (first[a] === first[b] && second[a]! > second[b]!);
  let order: Uint32Array = new Uint32Array(to - from);
  for (let index = 0; index < order.length; index += 1) order[index] = from + index;
  let runs = runsIn(order, isBehind);
  if (runs.length <= 1) return order;
  let other: Uint32Array = new Uint32Array(order.length);
  while (runs.length > 1) {
    const merged: number[] = [];
    for (let run = 0; run < runs.length; run += 2) {
      const start = runs[run]!;
      const middle = runs[run + 1] ?? order.length;
      merge(order, other, start, middle, runs[run + 2] ?? order.length, isBehind);
      merged.push(start);
    }
    [order, other] = [other, order];
    runs = merged;
  }
  return order;
}

type IsBehind = (a: number, b: number) => boolean;

/** Where each run begins. */
function runsIn(order: Uint32Array, isBehind: IsBehind): number[] {
  const runs = order.length === 0 ? [] : [0];
  for (let at = 1; at < order.length; at += 1) if (isBehind(order[at - 1]!, order[at]!)) runs.push(at);
  return runs;
}

function merge(
  from: Uint32Array,
  into: Uint32Array,
  start: number,
  middle: number,
  end: number,
  isBehind: IsBehind,
): void {
  let left = start;
  let right = middle;
  for (let at = start; at < end; at += 1) {
    const takesRight = left === middle || (right < end && isBehind(from[left]!, from[right]!));
    into[at] = takesRight ? from[right++]! : from[left++]!;
  }
}

/** Whether an order that is right by one key is right by another too. */
export function isInOrder(order: Uint32Array, first: Float64Array, second: Float64Array): boolean {
  for (let at = 1; at < order.length; at += 1) {
    const a = order[at - 1]!;
    const b = order[at]!;
    if (first[a]! > first[b]! || (first[a] === first[b] && second[a]! > second[b]!)) return false;
  }
  return true;
}
