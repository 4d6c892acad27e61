import { assess } from '../../src/assessment/assess.js';
import type { Facts } from '../../src/dossier/facts.js';
import { valueText, verdictNoteText } from '../../src/report/phrases/values.js';
import { normalQuantile } from '../../src/statistics/distributions.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

interface Case {
  readonly difference: Editable;
  /** Both values of the first coupon. */
  readonly value: string;
  readonly item?: Editable;
  readonly standardUncertainty?: string;
}

const rmOf = ({ difference, value, item = {}, standardUncertainty = '' }: Case) => {
  const changed = edited(facts, ({ studies, results, specification }) => {
    studies.get('EQ rev 1').body.differences = [{ characteristic: 'rm', ...difference }];
    Object.assign(specification.body.characteristics[0], item);
    for (const row of results) {
      if (row.specimen === 'L-1-W1' && row.characteristic === 'rm') Object.assign(row, { value, standardUncertainty });
    }
  });
  const found = assessBothWays(changed).characteristics.find(({ characteristic }) => characteristic === 'rm')!;
  return { item: changed.specification.body.characteristics[0]!, ...found };
};

const ONE_HUNDREDTH_HIGH = { bias: '0.01', standardUncertainty: '0.004' };

describe('a limit for coupons of which a study found that they read otherwise', () => {
  // The limit on the implant is at least 215 MPa; a coupon that reads 1 % high shows 217.15 there.
  it.each([
    ['a share, above', ONE_HUNDREDTH_HIGH, '217.2', 'conforms'],
    ['a share, between both limits', ONE_HUNDREDTH_HIGH, '217.1', 'does not conform'],
    ['an amount', { bias: '3', standardUncertainty: '1', ucum: 'MPa' }, '217.9', 'does not conform'],
    ['an amount in another unit', { bias: '3000', standardUncertainty: '1', ucum: 'kPa' }, '218', 'conforms'],
    [
      'coupons that read low: the limit stays',
      { bias: '-0.01', standardUncertainty: '0' },
      '214.9',
      'does not conform',
    ],
    ['coupons that read low, on the limit', { bias: '-0.01', standardUncertainty: '0' }, '215', 'conforms'],
  ])('%s', (_, difference, value, verdict) => {
    expect(rmOf({ difference, value }).values[0]).toMatchObject({ verdict, value });
  });

  it('prints the study beside the value', () => {
    const { item, values, notes, acceptFrom } = rmOf({ difference: ONE_HUNDREDTH_HIGH, value: '217.1' });
    expect(acceptFrom).toBe('217.15');
    expect(valueText(item, values[0]!)).toBe('misses at least 217.15 MPa (on a coupon, by EQ rev 1)');
    expect(notes.map(verdictNoteText)).toContain(
      'coupon reads 1 % high by EQ rev 1 (standard uncertainty 0.4 %): its limits are moved by that, never outwards; by a guarded rule the guard band holds this uncertainty too',
    );
  });

  it('adds the uncertainty of the study to the guard band of a guarded rule', () => {
    const guarded = { item: { decision: { rule: 'guarded', confidence: '0.95' } }, standardUncertainty: '0.5' };
    // JCGM 106: w = z u, here with u of the value and of the limit as root of the sum of squares.
    const guard = normalQuantile(0.95) * Math.hypot(0.5, 0.004 * 215);
    const around = (distance: number) => String(217.15 + distance);
    const at = (value: string) => rmOf({ ...guarded, difference: ONE_HUNDREDTH_HIGH, value });
    expect(Number(at('230').acceptFrom)).toBeCloseTo(217.15 + guard, 9);
    expect(at(around(guard + 1e-6)).values[0]!.verdict).toBe('conforms');
    expect(at(around(guard - 1e-6)).values[0]!.verdict).toBe('cannot be decided');
    expect(at(around(-guard - 1e-6)).values[0]!.verdict).toBe('does not conform');
    // Without the uncertainty of the study this value would have been proved.
    expect(guard).toBeGreaterThan(normalQuantile(0.95) * 0.5 + 0.5);
  });

  it('cannot decide by a difference in a unit of another kind', () => {
    const difference = { bias: '3', standardUncertainty: '1', ucum: 'mm' };
    const { item, values } = rmOf({ difference, value: '230' });
    expect(values[0]!.verdict).toBe('cannot be decided');
    expect(valueText(item, values[0]!)).toContain('EQ rev 1 states its difference in mm');
  });

  it('gives the moved limit to a plan that judges the values together', () => {
    const plan = { rule: 'tolerance-interval', confidence: '0.95', reliability: '0.9' };
    const { acceptFrom, plan: verdict } = rmOf({
      difference: { bias: '0.2', standardUncertainty: '0' },
      value: '232',
      item: { plan },
    });
    expect(acceptFrom).toBe('258');
    expect(verdict.verdict).toBe('does not conform');
  });

  it('leaves values of implants and of characteristics that it did not compare alone', () => {
    const changed = edited(facts, ({ studies }) => {
      studies.get('EQ rev 1').body.differences = [{ characteristic: 'thickness', ...ONE_HUNDREDTH_HIGH }];
    });
    expect(assess(changed, 'test').characteristics).toEqual(assess(facts, 'test').characteristics);
  });
});
