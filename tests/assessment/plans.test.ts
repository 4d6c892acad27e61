import type { PlanVerdict } from '../../src/assessment/assessment.js';
import { everyUnit } from '../../src/assessment/plans/every-unit.js';
import { singleSampling } from '../../src/assessment/plans/single-sampling.js';
import { toleranceInterval } from '../../src/assessment/plans/tolerance-interval.js';
import { variables } from '../../src/assessment/plans/variables.js';
import { zeroAcceptance } from '../../src/assessment/plans/zero-acceptance.js';
import type { Plan } from '../../src/kinds/specification.js';
import { reference, titleOf } from '../reference/open.js';
import { characteristic, sampleOf } from '../support/characteristics.js';

const [GOOD, BAD, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;
const texts = (values: readonly number[]): string[] => values.map(String);

describe('every unit', () => {
  const item = characteristic({ lower: '215' });
  it.each([
    [['231', '215'], GOOD],
    [['231', '214.9'], BAD],
    [['231', ''], OPEN],
    [['214.9', ''], BAD],
    [[], OPEN],
  ] as const)('%j: %s', (values, verdict) => expect(everyUnit(sampleOf(item, values)).verdict).toBe(verdict));
});

describe('tolerance interval', () => {
  const plan = (confidence: string, reliability: string) => ({
    rule: 'tolerance-interval' as const,
    confidence,
    reliability,
  });

  // Vectors TV4 and TV5 of the domain notes, computed there from the stated formulas and checked in a second package.
  const STRENGTHS = ['231.4', '228.9', '233.0', '229.7', '230.5', '227.8', '232.2', '230.9', '229.1', '231.8'];
  const DEVIATIONS = '.012 -.008 .021 .004 -.015 .009 .017 -.003 .006 .011 -.010 .014'.split(' ');

  it('vector TV4: mean 230.53, s 1.6412, k 2.9110, lower bound 225.75, which keeps 215', () => {
    const found = toleranceInterval(plan('0.95', '0.95'), sampleOf(characteristic({ lower: '215' }), STRENGTHS));
    expect(found.verdict).toBe(GOOD);
    expect(found.numbers.n).toBe(10);
    expect(found.numbers.mean).toBeCloseTo(230.53, 6);
    expect(found.numbers.sd).toBeCloseTo(1.6412, 4);
    expect(found.numbers.k).toBeCloseTo(2.911, 4);
    expect(found.numbers.lowerBound).toBeCloseTo(225.75, 2);
  });

  it('vector TV4 against a limit just above its bound, though every value keeps it', () => {
    const item = characteristic({ lower: '226' });
    const sample = sampleOf(item, STRENGTHS);
    expect(sample.values.every((value) => value.verdict === GOOD)).toBe(true);
    expect(toleranceInterval(plan('0.95', '0.95'), sample).verdict).toBe(BAD);
  });

  it('vector TV5: s 0.011448, both limits; 95/95 two-sided keeps ±0.050, 95/99.9 does not', () => {
    const item = characteristic({ lower: '-0.050', upper: '0.050', ucum: 'mm' });
    const found = toleranceInterval(plan('0.95', '0.95'), sampleOf(item, DEVIATIONS));
    expect(found.numbers.sd).toBeCloseTo(0.011448, 6);
    // Exact two-sided k for n = 12 of the grid below, 3.1747 (Howe's approximation gives 3.162): 0.0041 + 0.0363 = 0.0404.
    expect(found.numbers.k).toBeCloseTo(3.1747, 4);
    expect(found.verdict).toBe(GOOD);
    expect(toleranceInterval(plan('0.95', '0.999'), sampleOf(item, DEVIATIONS)).verdict).toBe(BAD);
  });

  it(titleOf(reference('A4-K-GRID-OPEN')), () => {
    const [grid] = reference('A4-K-GRID-OPEN').expected;
    for (const [confidence, content, n, oneSided, twoSided] of grid!.recomputed as number[][]) {
      const values = Array.from({ length: n! }, (_, index) => String(100 + (index % 2)));
      const k = (item: ReturnType<typeof characteristic>) =>
        toleranceInterval(plan(String(confidence), String(content)), sampleOf(item, values)).numbers.k!;
      expect(k(characteristic({ lower: '0' })) / oneSided!).toBeCloseTo(1, 7);
      expect(k(characteristic({ lower: '0', upper: '200' })) / twoSided!).toBeCloseTo(1, 7);
    }
  });

  it.each([
    ['a missing value', [...STRENGTHS.slice(1), ''], OPEN],
    ['a value that is only a bound', [...STRENGTHS.slice(1), '>230'], OPEN],
    ['a single value', ['231.4'], OPEN],
  ] as const)('with %s: %s', (_, values, verdict) =>
    expect(toleranceInterval(plan('0.95', '0.95'), sampleOf(characteristic({ lower: '215' }), values)).verdict).toBe(
      verdict,
    ),
  );

  it('leaves a bound inside the guard band undecided, and without an uncertainty too', () => {
    const item = characteristic({ lower: '225', decision: { rule: 'guarded', confidence: '0.95' } });
    const verdict = (uncertainty: string) =>
      toleranceInterval(plan('0.95', '0.95'), sampleOf(item, STRENGTHS, uncertainty)).verdict;
    expect(verdict('0.1')).toBe(GOOD);
    expect(verdict('1')).toBe(OPEN);
    expect(verdict('')).toBe(OPEN);
  });
});

describe('variables, sigma unknown', () => {
  const plan = (n: number, k: string) => ({ rule: 'variables' as const, n, k });

  it(titleOf(reference('A5-414-SINGLE')), () => {
    const { data, USL, n } = reference('A5-414-SINGLE').inputs;
    const item = characteristic({ upper: String(USL) });
    expect(variables(plan(n, '1.53'), sampleOf(item, texts(data))).verdict).toBe(GOOD);
    // The quality index is 1.5903: a little more is asked than it has.
    expect(variables(plan(n, '1.6'), sampleOf(item, texts(data))).verdict).toBe(BAD);
  });

  it(titleOf(reference('A5-414-DOUBLE')), () => {
    const { data, LSL, USL, n } = reference('A5-414-DOUBLE').inputs;
    const item = characteristic({ lower: String(LSL), upper: String(USL) });
    expect(variables(plan(n, '1.53'), sampleOf(item, texts(data))).verdict).toBe(GOOD);
    // By each limit alone both indices (1.59, 1.70) reach 1.58; the two fractions together (2.80 %) exceed its M.
    expect(variables(plan(n, '1.58'), sampleOf(item, texts(data))).verdict).toBe(BAD);
  });

  it.each([
    ['fewer values than the plan asks', ['1', '2', '3']],
    ['values without spread', ['2', '2', '2', '2', '2']],
  ])('cannot be decided on %s', (_, values) =>
    expect(variables(plan(5, '1.53'), sampleOf(characteristic({ upper: '9' }), values)).verdict).toBe(OPEN),
  );
});

describe('zero acceptance', () => {
  const item = characteristic({ lower: '215' });
  const run = (plan: Partial<Extract<Plan, { rule: 'zero-acceptance' }>>, values: readonly string[], units = 5) =>
    zeroAcceptance(
      { rule: 'zero-acceptance', confidence: '0.95', reliability: '0.9', of: 'process', ...plan },
      sampleOf(item, values, '', units),
    );
  const conforming = (count: number): string[] => Array(count).fill('231');

  it(titleOf(reference('A5-C0-BINOM')), () => {
    for (const { name, recomputed } of reference('A5-C0-BINOM').expected) {
      const [, fraction, confidence] = /p=([\d.]+), C=([\d.]+)/.exec(name)!;
      const reliability = (1 - Number(fraction)).toFixed(2);
      const needed = Number(recomputed);
      const verdict = (count: number) => run({ confidence: confidence!, reliability }, conforming(count)).verdict;
      expect([verdict(needed), verdict(needed - 1)]).toEqual([GOOD, OPEN]);
    }
  });

  it(titleOf(reference('A5-C0-OPEN')), () => {
    const [table] = reference('A5-C0-OPEN').expected;
    for (const row of table!.recomputed as Record<string, number>[]) {
      const plan = { reliability: String(1 - row.fraction!), of: 'lot' as const };
      expect(run(plan, conforming(1), row.N).numbers.needed).toBe(row.n_95);
    }
  });

  it('fails on one failing specimen, whatever else is there', () => {
    expect(run({}, [...conforming(40), '214.9']).verdict).toBe(BAD);
    expect(run({}, [...conforming(28), '']).verdict).toBe(OPEN);
  });
});

describe('single sampling', () => {
  const item = characteristic({ lower: '215' });
  const run = (values: readonly string[]): PlanVerdict['verdict'] =>
    singleSampling({ rule: 'single-sampling', n: 5, accept: 1 }, sampleOf(item, values)).verdict;

  it.each([
    [['220', '220', '220', '220', '220'], GOOD],
    [['220', '220', '220', '220', '210'], GOOD],
    [['220', '220', '220', '210', '210'], BAD],
    [['220', '220', '220', '220'], OPEN],
    [['220', '220', '220', '210', ''], OPEN],
    [['210', '210', ''], BAD],
  ] as const)('n = 5, c = 1, %j: %s', (values, verdict) => expect(run(values)).toBe(verdict));
});
