import { computedClaims } from '../../src/design-history/claims.js';
import type { StudiedValue } from '../../src/design-history/design-facts.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
import type { DesignStudy } from '../../src/kinds/design-history/design-study.js';
import { normalQuantile } from '../../src/statistics/distributions.js';
import { moments } from '../../src/statistics/summary.js';
import { reference } from '../reference/open.js';
import { factsOf, wholeHistory } from '../support/whole-history.js';

/** The worked example of docs/formulas.md on strength: ten values, MPa. */
const TEN = ['231.4', '228.9', '233.0', '229.7', '230.5', '227.8', '232.2', '230.9', '229.1', '231.8'];

const valuesOf = (values: readonly string[], ucum = 'MPa'): StudiedValue[] =>
  values.map((value, index) => ({
    ...{ characteristic: 'rm', specimen: 'L-1-W1', piece: String(index).padStart(3, '0'), replicate: '1', value, ucum },
  }));

function claimOf(values: readonly StudiedValue[], criterion: object, n = values.length) {
  const history = wholeHistory();
  history.lots.set('L-1', { family: 'PLATE', values: [...values] });
  const study = history.drafts.get('design-study')!.body;
  Object.assign(study, { n });
  Object.assign(study.criterion, criterion);
  const facts = factsOf(history);
  return { claim: computedClaims(new DesignIndex(facts))[0]!, rules: findGaps(facts).map(({ rule }) => rule) };
}

const SHARE = { confidence: '0.95', reliability: '0.95' };

it('computes the tolerance interval of ten values as published', () => {
  const { claim, rules } = claimOf(valuesOf(TEN), SHARE);
  const { answer, numbers } = claim;
  expect(answer).toBe('holds');
  expect(numbers.mean).toBeCloseTo(230.53, 10);
  expect(numbers.sd).toBeCloseTo(1.6412, 4);
  // One-sided factor for n 10, 95 % of units, 95 % confidence, as tables give it.
  expect(numbers.k).toBeCloseTo(2.911, 3);
  expect(numbers.lower).toBeCloseTo(225.75, 2);
  expect(rules).toEqual([]);
  expect(claimOf(valuesOf(TEN), { ...SHARE, value: '226' })).toMatchObject({
    claim: { answer: 'does not hold' },
    rules: ['claim-not-held'],
  });
  const within = claimOf(valuesOf(TEN), { ...SHARE, claim: 'within', value: '220', upTo: '240' }).claim;
  expect(within.answer).toBe('holds');
  expect(within.numbers.k).toBeCloseTo(3.393, 2);
});

it('asks for the number of units that no failure among them needs', () => {
  const many = (count: number) => valuesOf(Array.from({ length: count }, (_, index) => String(220 + (index % 7))));
  const by = { ...SHARE, by: 'zero failures' };
  expect(claimOf(many(59), by).claim).toMatchObject({ answer: 'holds', numbers: { needed: 59, outside: 0 } });
  expect(claimOf(many(58), by)).toMatchObject({
    claim: { answer: 'cannot be decided', why: 'too few for the claim' },
    rules: ['claim-undecided'],
  });
  expect(claimOf(many(59), { ...by, value: '221' }).claim.answer).toBe('does not hold');
});

it.each([
  ['another number of values', valuesOf(TEN), {}, 11],
  ['another unit', valuesOf(TEN, 'kPa'), {}, 10],
  ['bounds among the values', valuesOf(['<230', '229']), {}, 2],
  ['too few values', valuesOf(['230', '229']), SHARE, 2],
  ['too many values', valuesOf(Array.from({ length: 5001 }, (_, index) => String(220 + (index % 7)))), SHARE, 5001],
  ['no spread', valuesOf(['230', '230', '230']), SHARE, 3],
  ['no spread', valuesOf(['0.1', '0.1', '0.1']), SHARE, 3],
  ['not normal', valuesOf(['230', '230.1', '230.05', '230.02', '230.07', '230.04', '290']), SHARE, 7],
  ['no reviewed statement', valuesOf(TEN), { by: 'capability statement' }, 10],
] as const)('cannot decide it: %s', (why, values, criterion, n) => {
  expect(claimOf(values, criterion, n)).toMatchObject({
    claim: { answer: 'cannot be decided', why },
    rules: ['claim-undecided'],
  });
});

it('takes the lower bound of the last reviewed statement of capability', () => {
  const by = (lower: number | null) => {
    const history = wholeHistory();
    Object.assign(history.drafts.get('design-study')!.body.criterion, { by: 'capability statement', value: '1.33' });
    const statements = [{ characteristic: 'rm', number: 3, digest: 'a1'.repeat(32), lower }];
    return computedClaims(new DesignIndex({ ...factsOf(history), statements }))[0]!.answer;
  };
  expect([by(1.4), by(1.33), by(1.2), by(null)]).toEqual(['holds', 'holds', 'does not hold', 'cannot be decided']);
});

it('marks a study that was done elsewhere, and decides nothing of it', () => {
  const history = wholeHistory();
  for (const field of ['lots', 'coupons']) delete history.drafts.get('design-study')!.body[field];
  const [claim] = computedClaims(new DesignIndex(factsOf(history)));
  expect(claim).toMatchObject({ answer: 'cannot be decided', why: 'done elsewhere', lots: [] });
});

it('never holds for want of a value', () => {
  for (const criterion of [{}, SHARE, { ...SHARE, by: 'zero failures' }, { claim: 'at most', value: '300' }]) {
    for (let without = 0; without < TEN.length; without++) {
      const left = valuesOf(TEN.filter((_, index) => index !== without));
      expect(claimOf(left, criterion, TEN.length).claim.answer).not.toBe('holds');
    }
  }
});

const FACTS = factsOf(wholeHistory());

/** What comes of values alone, for many of them: nothing else of the history is looked at. */
function claimAlone(values: readonly StudiedValue[], criterion: object) {
  const revisions = FACTS.revisions.map((one) => {
    if (one.kind !== 'design-study') return one;
    const body = one.body as DesignStudy;
    return { ...one, body: { ...body, n: values.length, criterion: { ...body.criterion, ...criterion } } };
  });
  const lots = new Map([['L-1', { family: 'PLATE', values: [...values] }]]);
  return { claim: computedClaims(new DesignIndex({ ...FACTS, revisions, lots }))[0]! };
}

/** So many values as a normal population spreads them, about 230 MPa with a standard deviation near 2. */
const spreadOf = (n: number): string[] =>
  Array.from({ length: n }, (_, index) => (230 + 2 * normalQuantile((index + 0.625) / (n + 0.25))).toFixed(6));

/** Rows of the catalogue: confidence, content, n, one-sided factor, exact two-sided factor. */
const GRID = (reference('A4-K-GRID-OPEN').expected[0]!.recomputed as number[][]).filter(([, , n]) => n! >= 3);

it('claims by the factors of the reference catalogue (one-sided and exact two-sided), and turns just where they say', () => {
  expect(GRID.length).toBeGreaterThan(100);
  for (const [confidence, content, n, one, two] of GRID) {
    const values = valuesOf(spreadOf(n!));
    const { mean, sd } = moments(values.map(({ value }) => Number(value)));
    const share = { confidence: String(confidence), reliability: String(content) };
    const named = `${confidence} ${content} ${n}`;
    const limit = (factor: number) => (mean - factor * sd).toFixed(9);
    const held = claimAlone(values, { ...share, value: limit(one! * 1.000001) }).claim;
    expect([named, held.answer]).toEqual([named, 'holds']);
    expect(held.numbers.k! / one!).toBeCloseTo(1, 6);
    expect(claimAlone(values, { ...share, value: limit(one! * 0.999999) }).claim.answer).toBe('does not hold');
    const both = { ...share, claim: 'within', upTo: '999', value: limit(two! * 1.000001) };
    expect(claimAlone(values, both).claim.numbers.k! / two!).toBeCloseTo(1, 6);
    expect(claimAlone(values, both).claim.answer).toBe('holds');
    expect(claimAlone(values, { ...both, value: limit(two! * 0.999999) }).claim.answer).toBe('does not hold');
  }
});

it('asks for as many units without failure as the catalogue does (Wilks), and is not content with one less', () => {
  const sizes = reference('A4-WILKS1').expected.map(({ name, recomputed: n }) => {
    const [, content, confidence] = /^content (\S+), confidence (\S+)$/.exec(name)!;
    return { content: content!, confidence: confidence!, n: Number(n) };
  });
  expect(sizes.length).toBeGreaterThan(5);
  for (const { content, confidence, n } of sizes) {
    const by = { by: 'zero failures', confidence, reliability: content };
    const values = valuesOf(Array.from({ length: n }, (_, index) => String(220 + (index % 7))));
    expect(claimAlone(values, by).claim).toMatchObject({ answer: 'holds', numbers: { needed: n } });
    expect(claimAlone(values.slice(1), by).claim).toMatchObject({
      answer: 'cannot be decided',
      why: 'too few for the claim',
    });
  }
});

/** Factors for 95 % confidence as tables print them: n; one-sided for 90, 95, 99 % of units; two-sided for the same. */
const PRINTED = [
  [3, 6.155, 7.656, 10.553, 8.306, 9.789, 12.647],
  [5, 3.407, 4.203, 5.741, 4.291, 5.077, 6.598],
  [10, 2.355, 2.911, 3.981, 2.856, 3.393, 4.437],
  [15, 2.068, 2.566, 3.52, 2.492, 2.965, 3.885],
  [20, 1.926, 2.396, 3.295, 2.319, 2.76, 3.621],
  [30, 1.777, 2.22, 3.064, 2.145, 2.555, 3.355],
  [50, 1.646, 2.065, 2.862, 1.999, 2.382, 3.129],
] as const;

it.each(PRINTED)(
  'claims with %i values by the factors that tables print (ISO 16269-6, from memory)',
  (n, ...factors) => {
    const values = valuesOf(spreadOf(n));
    for (const [index, printed] of factors.entries()) {
      const share = { confidence: '0.95', reliability: ['0.90', '0.95', '0.99'][index % 3]! };
      const criterion = index < 3 ? share : { ...share, claim: 'within', value: '1', upTo: '999' };
      expect(Math.abs(claimAlone(values, criterion).claim.numbers.k! - printed)).toBeLessThan(0.00051);
    }
  },
);

it.each([
  ['0.90', '0.90', 22],
  ['0.95', '0.90', 29],
  ['0.95', '0.95', 59],
  ['0.95', '0.97', 99],
  ['0.95', '0.99', 299],
] as const)(
  'at %s confidence of %s reliability: %i units without failure, as tables print it',
  (confidence, reliability, n) => {
    const values = valuesOf(Array.from({ length: n }, () => '230'));
    expect(claimAlone(values, { by: 'zero failures', confidence, reliability }).claim).toMatchObject({
      answer: 'holds',
      numbers: { needed: n },
    });
  },
);
