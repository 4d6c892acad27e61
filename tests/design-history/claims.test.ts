import { computedClaims } from '../../src/design-history/claims.js';
import type { StudiedValue } from '../../src/design-history/design-facts.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
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
