import { readFileSync } from 'node:fs';

/** An input as the calculation takes it, and what R came to by the script beside the file. */
export interface CaseByR {
  /** Told where a file has cases of several calculations. */
  readonly calculation?: string;
  readonly input: Readonly<Record<string, unknown>>;
  readonly expected: Readonly<Record<string, unknown>>;
  /** Of a chart: each rule with the places, from 1, where it finds something. */
  readonly signals?: Readonly<Record<string, readonly number[]>>;
}

/** The cases of a file that a script in R wrote; a file with fewer than 200 must fail the test that reads it. */
export function casesByR(name: string): readonly CaseByR[] {
  const cases = JSON.parse(readFileSync(new URL(name, import.meta.url), 'utf8')) as readonly CaseByR[];
  if (cases.length < 200) throw new Error(`${name} has ${cases.length} cases, expected 200`);
  return cases;
}

/** A number or word of R beside ours, and where in the answer it stands. */
export interface Pair {
  readonly place: string;
  readonly found: unknown;
  readonly expected: unknown;
}

/** Everything that R came to, leaf by leaf, beside what stands at the same place of the answer. */
export function pairsOf(found: unknown, expected: unknown, place = ''): Pair[] {
  if (expected === null || typeof expected !== 'object') return [{ place, found, expected }];
  const inner = Object.entries(expected).flatMap(([name, value]) =>
    pairsOf((found as Record<string, unknown> | undefined)?.[name], value, place === '' ? name : `${place}.${name}`),
  );
  if (!Array.isArray(expected)) return inner;
  const length = Array.isArray(found) ? found.length : undefined;
  return [{ place: `${place}.length`, found: length, expected: expected.length }, ...inner];
}

/**
 * The pairs that lie further apart than a part of R's number, or of `floor` where R's number is smaller than that: a
 * difference of two large numbers is known to the digits of these. Words must be equal.
 */
export function apart(pairs: readonly Pair[], tolerance: number, floor = 0): Pair[] {
  return pairs.filter(({ found, expected }) => {
    if (typeof expected !== 'number' || typeof found !== 'number') return found !== expected;
    return !(Math.abs(found - expected) <= tolerance * Math.max(Math.abs(expected), floor));
  });
}
