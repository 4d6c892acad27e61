import { familyStudy, studyChart } from '../../../src/assessment/family/study.js';
import type { StudyRow } from '../../../src/assessment/family/study-input.js';
import { normalCdf } from '../../../src/statistics/distributions.js';
import { medianFalseRun } from '../../../src/statistics/false-signals.js';
import { normalNumbers } from '../../support/numbers.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

const LONG = process.env.LOTWRIGHT_TEST_LONG;

/** Builds of how many values, of a family that is N(0, 1) in all. */
const SIZES = {
  'ten builds of four': Array.from({ length: 10 }, () => 4),
  '26 builds of one to three': Array.from({ length: 26 }, (_, index) => [1, 2, 2, 3, 1, 2, 3][index % 7]!),
  'eight builds of one to twenty': [1, 1, 1, 2, 3, 8, 12, 20],
} as const;
type Family = keyof typeof SIZES;

/** The true index, and the limit that gives it; values below a cut are reported only as below it. */
const INDEX = 1.33;
const UPPER = 3 * INDEX;
const CUTS = { 'no bounds': Number.NEGATIVE_INFINITY, '3 of 10 bounds': -0.5244, '45 of 100 bounds': -0.1257 } as const;
type Cut = keyof typeof CUTS;

function drawn(sizes: readonly number[], share: number, cut: number, normal: () => number): StudyRow[] {
  const values = sizes.map((size) => {
    const level = Math.sqrt(share) * normal();
    return Array.from({ length: size }, () => level + Math.sqrt(1 - share) * normal());
  });
  return buildsOf(values.map((own) => own.filter((value) => value >= cut))).map((row, index) => {
    const bounds = values[index]!.filter((value) => value < cut).length;
    const apart = Array.from({ length: bounds }, (_, place) => ({
      ...{ specimen: `S-${index}-below-${place}`, piece: '', replicate: 1, value: `<${cut}`, why: 'bound' as const },
    }));
    return { ...row, bounds, beside: { apart } };
  });
}

/** How often each bound that is printed keeps what it bounds, of families that give an index. */
function coverage(family: Family, share: number, cut: Cut, twoSided: boolean, draws: number) {
  const normal = normalNumbers(77);
  const kept: Record<string, boolean[]> = {
    counts: [],
    builds: [],
    independent: [],
    cpk: [],
    tolerance: [],
  };
  for (let draw = 0; draw < draws; draw += 1) {
    const rows = drawn(SIZES[family], share, CUTS[cut], normal);
    const { index } = familyStudy(
      studyInput(rows, {
        plan: { subgroup: 'build', runRules: ['nineOneSide'] },
        item: { lower: twoSided ? String(-UPPER) : undefined, upper: String(UPPER), direction: 'lower-is-better' },
        baseline: rows.length - 2,
      }),
      false,
      false,
    );
    if (index.ppk === null) continue;
    kept.counts!.push(index.ppkLower! <= INDEX);
    kept.builds!.push(index.bounds.builds! <= INDEX);
    kept.independent!.push(index.bounds.independent! <= INDEX);
    if (index.cpk) kept.cpk!.push(index.cpk.lower <= INDEX);
    const { lower, upper } = index.tolerance!;
    kept.tolerance!.push(normalCdf(upper!) - (lower === null ? 0 : normalCdf(lower)) >= 0.95);
  }
  return Object.entries(kept).map(([name, found]) => {
    const of = found.length;
    return { name, of, covers: found.filter((one) => one).length / of, error: Math.sqrt((0.95 * 0.05) / of) };
  });
}

/** Four standard errors of a share of 0.95. */
const ERRORS = 4;

describe('bounds at 95 % of families whose spread within and between builds is known', () => {
  const shares = [0, 0.5, 0.9];
  const all = (Object.keys(SIZES) as Family[]).flatMap((family) =>
    shares.flatMap((share) =>
      (Object.keys(CUTS) as Cut[]).flatMap((cut) =>
        (cut === 'no bounds' ? [false, true] : [false]).map((twoSided) => [family, share, cut, twoSided] as const),
      ),
    ),
  );
  const slice = [
    ['ten builds of four', 0.5, 'no bounds', true],
    ['26 builds of one to three', 0.5, '3 of 10 bounds', false],
    ['eight builds of one to twenty', 0.9, 'no bounds', false],
    ['eight builds of one to twenty', 0.9, '3 of 10 bounds', false],
  ] as const satisfies (typeof all)[number][];
  it.each(LONG ? all : slice)('keep %s, share between builds %d, %s, two limits %s', (family, share, cut, twoSided) => {
    const draws = LONG ? 500 : 40;
    for (const { name, of, covers, error } of coverage(family, share, cut, twoSided, draws)) {
      if (LONG) process.stderr.write(`${family}, ${share}, ${cut}, ${twoSided ? 2 : 1}: ${name} ${covers} of ${of}\n`);
      // Without indices nothing would be tried.
      if (name === 'counts') expect(of).toBeGreaterThan(draws / 4);
      // As if all values were independent: what that bound says holds where they are.
      if (of > 0 && (name !== 'independent' || share === 0)) {
        expect([name, covers > 0.95 - ERRORS * error]).toEqual([name, true]);
      }
    }
  });
});

describe('false signals of a process that does not move', () => {
  it.each([
    ['limits and moving range', ['movingRange']],
    ['nine on one side and the moving average', ['nineOneSide', 'ewma']],
  ] as const)('come as often as the page says: within so many points on half of the charts, %s', (_, runRules) => {
    const [baseline, draws] = [25, LONG ? 500 : 40];
    const normal = normalNumbers(5);
    const points = medianFalseRun(runRules, baseline);
    let signalled = 0;
    for (let draw = 0; draw < draws; draw += 1) {
      const rows = drawn(
        Array.from({ length: baseline + points }, () => 2),
        0.5,
        Number.NEGATIVE_INFINITY,
        normal,
      );
      const given = { plan: { subgroup: 'build', runRules }, item: { lower: '-9' }, baseline };
      const { signals } = studyChart(studyInput(rows, given), false);
      if (signals.some(({ last }) => last >= baseline)) signalled += 1;
    }
    if (LONG) process.stderr.write(`${runRules.join()}: ${signalled} of ${draws} within ${points} points\n`);
    // The middle of 401 simulated runs has an error of its own, as large as that of a share of 401.
    const error = 0.5 * Math.sqrt(1 / draws + 1 / 401);
    expect(Math.abs(signalled / draws - 0.5)).toBeLessThan(4 * error);
  });
});
