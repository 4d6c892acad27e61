import { acceptAll } from '../../src/assessment/acceptance.js';
import { assess } from '../../src/assessment/assess.js';
import { meanOf } from '../../src/assessment/averaging.js';
import { findingId } from '../../src/assessment/checks/check.js';
import { declaredInvalid, REPEATS_CHECK } from '../../src/assessment/invalid-tests.js';
import { judgeValue } from '../../src/assessment/judge-value.js';
import type { Facts } from '../../src/dossier/facts.js';
import { assessmentInWords } from '../../src/report/assessment-words.js';
import { planText } from '../../src/report/phrases/plans.js';
import { valueText } from '../../src/report/phrases/values.js';
import { reference, titleOf } from '../reference/open.js';
import { characteristic } from '../support/characteristics.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { signedFacts, statement } from '../support/signed-facts.js';

const LOG = 'lots/L-1/logs/run.csv';
const [GOOD, BAD, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;

describe('one value against its limits', () => {
  const verdict = (more: Parameters<typeof characteristic>[0], value: string, uncertainty = '') =>
    judgeValue(characteristic(more), value, uncertainty).verdict;

  it(titleOf(reference('A7-GUARD')), () => {
    // u = 0.01, limits 9 and 10, 95 %: accepted from 9.01645 to 9.98355.
    const { u, USL, LSL } = reference('A7-GUARD').inputs;
    const limits = {
      lower: String(LSL),
      upper: String(USL),
      decision: { rule: 'guarded', confidence: '0.95' },
    } as const;
    const by = (value: string) => verdict(limits, value, String(u));
    expect([by('9.9835'), by('9.9836'), by('10.0164'), by('10.0165')]).toEqual([GOOD, OPEN, OPEN, BAD]);
    expect([by('9.0165'), by('9.0164'), by('8.9836'), by('8.9835')]).toEqual([GOOD, OPEN, OPEN, BAD]);
  });

  it('JCGM 106:2012 example of a Zener diode: −5.47 V, u 0.05 V, upper limit −5.40 V conforms with 92 %, not with 95 %', () => {
    const { estimate, u, upper_limit } = reference('A7-CONFORM-ZENER').inputs;
    const by = (confidence: string) =>
      verdict({ upper: String(upper_limit), decision: { rule: 'guarded', confidence } }, String(estimate), String(u));
    expect([by('0.90'), by('0.95')]).toEqual([GOOD, OPEN]);
  });

  it(titleOf(reference('A7-ROUND-ISO')), () => {
    const { values } = reference('A7-ROUND-ISO').inputs as { values: string[] };
    const rounded = { upper: '12.2', rounding: { rule: 'rounding', place: '0.1' } } as const;
    // Rule A gives 12.2, 12.3, 12.3, 12.2, 12.4.
    expect(values.map((value) => verdict(rounded, value))).toEqual([GOOD, BAD, BAD, GOOD, BAD]);
    expect(values.map((value) => verdict({ upper: '12.2' }, value))).toEqual([BAD, BAD, BAD, BAD, BAD]);
  });

  it('ASTM E29: the place of the limit is that of its text, and a tie goes to the even digit where a binary number cannot', () => {
    const by = (upper: string, value: string) => verdict({ upper, rounding: { rule: 'rounding' } }, value);
    expect([by('0.28', '0.285'), by('0.28', '0.2851'), by('0.280', '0.285')]).toEqual([GOOD, BAD, BAD]);
    expect([by('100', '100.5'), by('100', '100.51'), by('1.0e2', '104')]).toEqual([GOOD, BAD, GOOD]);
  });

  it('rounds to the place of the limit under a guarded rule too', () => {
    const more = {
      lower: '215',
      rounding: { rule: 'rounding' },
      decision: { rule: 'guarded', confidence: '0.95' },
    } as const;
    expect([verdict(more, '215.4', '0.1'), verdict(more, '215.6', '0.1')]).toEqual([OPEN, GOOD]);
  });

  it.each([
    ['<0.12', { upper: '0.50' }, GOOD],
    ['<0.60', { upper: '0.50' }, OPEN],
    ['>1000', { lower: '500' }, GOOD],
    ['>1000', { lower: '1500' }, OPEN],
    ['>0.50', { upper: '0.50' }, BAD],
    ['<0.12', { lower: '0.05', upper: '0.50' }, OPEN],
  ] as const)('censored %s against %j: %s', (value, limits, expected) => expect(verdict(limits, value)).toBe(expected));
});

describe('the mean of replicates', () => {
  it.each([
    [['0.1', '0.2'], '0.15'],
    [['1', '1', '2'], '1.33333333333333333333'],
    [['-1.5', '1.5'], '0'],
    [['1e2', '2'], '51'],
  ])('of %j is %s', (values, mean) => expect(meanOf(values)).toBe(mean));

  it('is exact where a binary mean is not: three times 0.285 lies on its tie', () => {
    const item = characteristic({ upper: '0.28', rounding: { rule: 'rounding' } });
    expect(judgeValue(item, meanOf(['0.285', '0.285', '0.285']), '').verdict).toBe(GOOD);
  });
});

describe('a lot', () => {
  let facts: Facts;
  beforeAll(async () => {
    facts = await factsOf(({ documents, files }) => {
      // The spare coupon is built beside the second one: every other row of that zone is its own.
      let row = 0;
      files[LOG] = files[LOG]!.replaceAll('W2-span', () => (row++ % 2 === 0 ? 'W2-span' : 'W3-span'));
      const [coupon] = documents['lots/L-1/lot.yaml']!.coupons;
      const zones = [{ zone: 'W3-span', recipeZone: 'span', layers: { from: 1, to: 4 } }];
      documents['lots/L-1/lot.yaml']!.coupons.push({
        ...coupon,
        coupon: 'L-1-W3',
        zones,
        use: 'spare',
        standsFor: ['L-1-I1', 'L-1-I2'],
      });
    });
  });

  const strengthOf = (change: (copy: Editable) => void, unit = 'L-1-I1') =>
    assessBothWays(signedFacts(edited(facts, change))).characteristics.find(
      (verdict) => verdict.unit === unit && verdict.characteristic === 'rm',
    )!;
  const rowOf = (results: Editable, specimen: string, replicate: string): Editable =>
    results.find(
      (row: Editable) => row.specimen === specimen && row.characteristic === 'rm' && row.replicate === replicate,
    );
  const plan = (more: object) => (copy: Editable) => Object.assign(copy.specification.body.characteristics[0], more);

  it('judges each replicate, unless the specification declares the mean', () => {
    const weak = (copy: Editable) => {
      rowOf(copy.results, 'L-1-W1', '1').value = '214.0';
    };
    expect(strengthOf(weak)).toMatchObject({ verdict: BAD });
    const mean = strengthOf((copy) => {
      weak(copy);
      plan({ averaging: 'mean' })(copy);
    });
    expect(mean.verdict).toBe(GOOD);
    expect(mean.values.map((value) => value.compared)).toEqual(['223', '223']);
    expect(mean.notes).toContainEqual({ code: 'mean judged', facts: {} });
  });

  it('leaves a mean undecided when one of its values is missing or only a bound', () => {
    const averaged = plan({ averaging: 'mean' });
    const without = strengthOf((copy) => {
      averaged(copy);
      copy.results.splice(copy.results.indexOf(rowOf(copy.results, 'L-1-W1', '2')), 1);
    });
    expect([without.verdict, without.values.length]).toEqual([OPEN, 2]);
    const bound = strengthOf((copy) => {
      averaged(copy);
      rowOf(copy.results, 'L-1-W1', '2').value = '>231';
    });
    expect(bound.verdict).toBe(OPEN);
  });

  it('says by which rule replicates count by piece, and which results are there', () => {
    // Two values are planned; six pieces have one each, numbered through from 1 to 6.
    const cut = (more: object) => (copy: Editable) => {
      plan(more)(copy);
      const [first] = copy.results.splice(0, copy.results.length);
      copy.results.push(
        ...['A', 'B', 'C', 'D', 'E', 'F'].map((piece, index) => ({
          ...first,
          specimen: 'L-1-W1',
          characteristic: 'rm',
          method: 'TM-T',
          piece,
          replicate: String(index + 1),
          value: '231.0',
        })),
      );
    };
    const { plan: found } = strengthOf(
      cut({ plan: { rule: 'tolerance-interval', confidence: '0.9', reliability: '0.9' } }),
    );
    const item = { ...facts.specification.body.characteristics[0]!, replicates: 2 };
    const says = planText(item, found);
    expect(says).toContain(
      'L-1-W1: 6 values are there (results 1 to 6), 2 are planned, and numbers are left out: piece B has replicate 2 ' +
        '(result 2) and no 1; piece C has replicate 3 (result 3) and no 1, 2; piece D has replicate 4 (result 4) and no 1 to 3',
    );
    expect(says).toContain('replicates are numbered from 1 on in each piece');
    expect(says).toContain('L-1-W2: 0 of 2 planned values are there');
    const mean = strengthOf(cut({ averaging: 'mean' }));
    expect(valueText(item, mean.values[0]!)).toContain('piece B has replicate 2 (result 2) and no 1');
    const [complete] = assessmentInWords(assess(signedFacts(edited(facts, cut({}))), 'test')).units[0]!.why;
    expect(complete!.says).toContain('piece B has replicate 2 (result 2) and no 1');
  });

  it('does not call a value missing that was measured by another method', () => {
    const { plan: found } = strengthOf((copy) => {
      plan({ plan: { rule: 'tolerance-interval', confidence: '0.9', reliability: '0.9' } })(copy);
      rowOf(copy.results, 'L-1-W1', '1').methodRevision = '2';
    });
    expect(found.gaps).toEqual([
      {
        specimen: 'L-1-W1',
        reasons: [{ code: 'other method', facts: { row: expect.any(Number), method: 'TM-T', revision: '2' } }],
      },
    ]);
    expect(planText(facts.specification.body.characteristics[0]!, found)).toMatch(
      /^L-1-W1: result \d+ was measured by TM-T revision 2, planned TM-T revision 1$/,
    );
  });

  it.each([
    ['no uncertainty', '', '1.500', 'give the measurement uncertainty'],
    ['an uncertainty that is too large', '0.004', '1.548', 'a smaller uncertainty'],
    ['no number', '0.004', '<1.60', 'gives a number where the limit lies'],
  ])('asks only for what is not there: %s', (_, standardUncertainty, value, asked) => {
    const spoiled = edited(facts, (copy) => {
      const row = copy.results.find((item: Editable) => item.specimen === 'L-1-I1');
      Object.assign(row, { standardUncertainty, value });
    });
    const [why] = assessmentInWords(assess(signedFacts(spoiled), 'test')).units[0]!.why;
    expect(why).toMatchObject({ effect: OPEN, clearedBy: expect.stringContaining(asked) });
    if (standardUncertainty !== '') expect(why!.clearedBy).not.toContain('give the measurement uncertainty');
  });

  it('says where a measurement uncertainty was not stated', () => {
    expect(strengthOf(() => {}).notes).toEqual([{ code: 'uncertainty not stated', facts: { without: 2, values: 2 } }]);
  });

  describe('invalid tests, repeats and replacements', () => {
    const SLIP = { specimen: 'L-1-W1', characteristic: 'rm', replicate: 1 };
    const slipped = (copy: Editable) => {
      rowOf(copy.results, 'L-1-W1', '1').value = '120.0';
      copy.lot.body.invalidTests = [
        { result: SLIP, cause: 'slip in the grip', seenBy: 'P-AN', decidedBy: 'P-QE', at: '2031-03-05T09:00:00+01:00' },
      ];
    };
    const again = (copy: Editable, specimen: string, replicate: string, value: string) =>
      copy.results.push({ ...rowOf(copy.results, 'L-1-W1', '1'), specimen, replicate, value, line: '20' });

    const decided = (change: (copy: Editable) => void, by: string) => {
      const copy = edited(facts, change);
      const [declared] = declaredInvalid(copy);
      const id = findingId(copy, REPEATS_CHECK, declared!.finding);
      const subject = { kind: 'check finding', key: id.slice(0, 12), revision: null, digest: id };
      const signed = signedFacts(copy, statement('decided', subject, by, { outcome: 'accepted' }));
      return { unit: assessmentInWords(assessBothWays(signed)).units[0]!, rm: acceptAll(signed)[0]! };
    };

    it('counts a value until a second person signed that its test was invalid', () => {
      expect(strengthOf(slipped)).toMatchObject({ verdict: BAD });
      expect(decided(slipped, 'P-AN').rm.verdict).toBe(BAD);
    });

    it('leaves the value out then, still shows it, and misses what it should have been', () => {
      const { rm, unit } = decided(slipped, 'P-QE');
      expect(rm.values.map(({ role, row }) => [role, row === null])).toEqual([
        ['invalid test', false],
        ['planned', false],
        ['planned', true],
      ]);
      expect(rm.values[0]!.why).toEqual({
        code: 'invalid test',
        facts: { cause: 'slip in the grip', decidedBy: 'P-QE' },
      });
      expect(unit.verdict).toBe(OPEN);
      expect(unit.why[0]!.says).toContain('Spare coupons left: L-1-W3.');
    });

    it('is complete again with a repeat on the same specimen', () => {
      const repeated = (copy: Editable) => {
        again(copy, 'L-1-W1', '3', '229.0');
        slipped(copy);
      };
      expect(decided(repeated, 'P-QE').unit).toMatchObject({ verdict: GOOD, why: [] });
    });

    it('takes a spare coupon only by a retest rule that the specification held', () => {
      const replaced = (retest: boolean) => (copy: Editable) => {
        again(copy, 'L-1-W3', '1', '229.0');
        slipped(copy);
        copy.lot.body.replacements = [{ characteristic: 'rm', replaces: 'L-1-W1', by: 'L-1-W3', reason: 'slip' }];
        if (retest) plan({ retest: { rule: 'one spare coupon after an invalid test', replacements: 1 } })(copy);
      };
      expect(decided(replaced(false), 'P-QE').unit.verdict).toBe(OPEN);
      const { unit, rm } = decided(replaced(true), 'P-QE');
      expect(rm.values.map((value) => value.role)).toEqual(['invalid test', 'planned', 'replacement']);
      expect(unit).toMatchObject({ verdict: GOOD, why: [] });
    });

    it('does not let a good replacement outweigh a value that failed in a valid test', () => {
      const verdict = strengthOf((copy) => {
        again(copy, 'L-1-W3', '1', '229.0');
        rowOf(copy.results, 'L-1-W1', '1').value = '214.0';
        copy.lot.body.replacements = [{ characteristic: 'rm', replaces: 'L-1-W1', by: 'L-1-W3', reason: 'low value' }];
        plan({ retest: { rule: 'one spare coupon', replacements: 1 } })(copy);
      });
      expect(verdict.verdict).toBe(BAD);
    });

    it('says that nothing is left when the spare coupons are used up', () => {
      const { unit } = decided((copy) => {
        again(copy, 'L-1-W3', '1', '229.0');
        slipped(copy);
      }, 'P-QE');
      expect(unit.why[0]!.says).toContain('No spare coupon is left.');
    });
  });

  describe('plans over the specimens of a build', () => {
    const PV = {
      rule: 'process-validation',
      validation: 'PV',
      confidence: '0.95',
      reliability: '0.95',
      agreement: '0.99',
    };

    it('rests on the process validation while the coupons agree with it', () => {
      const found = strengthOf(plan({ plan: PV }));
      // One-sided k for n = 30, 95/95: 2.220 (tolerance table of the domain notes); 231 − 2.22 × 3 keeps 215.
      expect(found).toMatchObject({ verdict: GOOD, plan: { verdict: GOOD, numbers: { n: 30, mean: 231, sd: 3 } } });
      expect(found.plan.numbers.k).toBeCloseTo(2.22, 3);
      expect(found.values).toHaveLength(4);
    });

    it('leaves every unit of the build undecided when a value keeps its limit and the process has moved', () => {
      const moved = (copy: Editable) => {
        plan({ plan: PV })(copy);
        rowOf(copy.results, 'L-1-W1', '1').value = '216.0';
      };
      for (const unit of ['L-1-I1', 'L-1-I2']) {
        expect(strengthOf(moved, unit)).toMatchObject({
          verdict: OPEN,
          plan: { outcome: 'moved' },
        });
      }
    });

    it('fails only the unit for which a failing coupon stands', () => {
      const failing = (copy: Editable) => {
        plan({ plan: PV })(copy);
        rowOf(copy.results, 'L-1-W1', '1').value = '214.0';
      };
      expect([strengthOf(failing).verdict, strengthOf(failing, 'L-1-I2').verdict]).toEqual([BAD, OPEN]);
    });

    it('decides nothing by a validation that does not show it', () => {
      const found = strengthOf((copy) => {
        plan({ plan: PV })(copy);
        copy.validations.get('PV rev 1').body.shown[0].sd = '8';
      });
      expect(found).toMatchObject({ verdict: OPEN, plan: { outcome: 'limits not shown' } });
    });

    it('counts specimens, not replicates, for a plan by attributes', () => {
      const { numbers } = strengthOf(plan({ plan: { rule: 'single-sampling', n: 2, accept: 0 } })).plan;
      expect(numbers).toMatchObject({ conforming: 2, failing: 0 });
    });
  });

  describe('a result that is due after release', () => {
    const late = (copy: Editable) => {
      plan({ due: 'after-release', relies: 'PV', dueWithinDays: 60 })(copy);
      copy.results.splice(
        0,
        copy.results.length,
        ...copy.results.filter((row: Editable) => row.characteristic !== 'rm'),
      );
    };

    it('holds up nothing while it is to come, is listed as open, and says until when', () => {
      const [unit] = assessBothWays(signedFacts(edited(facts, late))).units;
      expect(unit).toMatchObject({ verdict: GOOD, releasable: true, why: [] });
      // The chamber was opened on 3 March 2031 at 08:02 +01:00; sixty days later.
      expect(unit!.open).toEqual([{ characteristic: 'rm', until: '2031-05-02T07:02:00.000Z' }]);
    });

    it('counts when it has come and fails', () => {
      const found = strengthOf((copy) => {
        const [row] = copy.results.filter((item: Editable) => item.characteristic === 'rm');
        late(copy);
        copy.results.push({ ...row, value: '200.0' });
      });
      expect(found).toMatchObject({ verdict: BAD, openUntil: null });
    });

    it('holds up release when the validation had run out', () => {
      const spoiled = edited(facts, (copy) => {
        late(copy);
        copy.validations.get('PV rev 1').body.validUntil = '2031-03-01T00:00:00+01:00';
      });
      expect(assess(signedFacts(spoiled), 'test').units[0]).toMatchObject({ verdict: OPEN, open: [] });
    });
  });
});
