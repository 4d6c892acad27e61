// Not quick: it assesses hundreds of random lots.
import fc from 'fast-check';
import { assess } from '../../src/assessment/assess.js';
import type { Verdict } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const RUNS = { numRuns: 60 };
const SEVERITY: readonly Verdict[] = ['conforms', 'cannot be decided', 'does not conform'];

const PLANS = [
  'every-unit',
  { rule: 'zero-acceptance', confidence: '0.5', reliability: '0.6', of: 'process' },
  { rule: 'single-sampling', n: 2, accept: 1 },
  { rule: 'variables', n: 4, k: '1.2' },
  { rule: 'tolerance-interval', confidence: '0.9', reliability: '0.8' },
  { rule: 'process-validation', validation: 'PV', confidence: '0.95', reliability: '0.95', agreement: '0.99' },
];

/** Values of the four strengths, a plan, a decision rule: whatever a lot may look like. */
const lotLike = fc.record({
  strengths: fc.array(fc.integer({ min: 2100, max: 2360 }), { minLength: 4, maxLength: 4 }),
  thickness: fc.integer({ min: 1435, max: 1565 }),
  uncertainty: fc.constantFrom('', '0.5', '2', '6'),
  plan: fc.constantFrom(...PLANS),
  averaged: fc.boolean(),
  guarded: fc.boolean(),
  rounded: fc.boolean(),
});
type LotLike = typeof lotLike extends fc.Arbitrary<infer T> ? T : never;

function made({ strengths, thickness, uncertainty, plan, averaged, guarded, rounded }: LotLike): Facts {
  return edited(facts, (copy) => {
    const [strength] = copy.specification.body.characteristics;
    strength.plan = plan;
    if (averaged) strength.averaging = 'mean';
    if (guarded) strength.decision = { rule: 'guarded', confidence: '0.95' };
    if (rounded) strength.rounding = { rule: 'rounding' };
    const rows = copy.results.filter((row: Editable) => row.characteristic === 'rm');
    for (const [index, row] of rows.entries()) {
      row.value = (strengths[index]! / 10).toFixed(1);
      row.standardUncertainty = uncertainty;
    }
    copy.results.find((row: Editable) => row.characteristic === 'thickness').value = (thickness / 1000).toFixed(3);
  });
}

const verdicts = (lot: Facts): Verdict[] => assess(signedFacts(lot), 'test').units.map((unit) => unit.verdict);

it('never lets a unit conform because evidence is gone: a value, a log, a study, a calibration, an upkeep, a training', () => {
  const removals: Record<string, (copy: Editable, at: number) => void> = {
    value: ({ results }, at) => results.splice(at % results.length, 1),
    log: ({ logParts }) => logParts.clear(),
    study: ({ lot }, at) => delete lot.body.coupons[at % 2].study,
    coupon: ({ lot }, at) => lot.body.coupons.splice(at % 2, 1),
    calibration: ({ instruments }, at) => {
      [...instruments.values()][at % instruments.size].body.calibrations = [];
    },
    upkeep: ({ machines }) => delete machines.get('M1').body.upkeep,
    training: ({ people }, at) => {
      [...people.values()][at % people.size].body.qualifications = [];
    },
    validations: ({ specification }) => delete specification.body.validations,
    signatures: () => {},
  };
  fc.assert(
    fc.property(lotLike, fc.constantFrom(...Object.keys(removals)), fc.nat(20), (like, what, at) => {
      const whole = made(like);
      const lesser = edited(whole, (copy) => removals[what]!(copy, at));
      const before = verdicts(whole);
      const after = what === 'signatures' ? assess(lesser, 'test').units.map((unit) => unit.verdict) : verdicts(lesser);
      for (const [index, verdict] of after.entries()) {
        if (verdict === 'conforms') expect(before[index]).toBe('conforms');
      }
    }),
    RUNS,
  );
});

it('never turns "does not conform" into "conforms" by more uncertainty', () => {
  const steps = ['0', '0.001', '0.5', '2', '6', '20'];
  fc.assert(
    fc.property(lotLike, fc.nat(steps.length - 2), (like, from) => {
      const at = (uncertainty: string) =>
        verdicts(
          edited(made({ ...like, guarded: true }), (copy) => {
            for (const row of copy.results) row.standardUncertainty = uncertainty;
          }),
        );
      const [less, more] = [at(steps[from]!), at(steps[from + 1]!)];
      for (const [index, verdict] of less.entries()) {
        if (verdict === 'does not conform') expect(more[index]).not.toBe('conforms');
      }
    }),
    RUNS,
  );
});

it('says the same by the note for strangers alone', () => {
  fc.assert(
    fc.property(lotLike, (like) => {
      assessBothWays(signedFacts(made(like)));
    }),
    RUNS,
  );
});

it('turns no verdict and lets nothing go by a decision on what only a concession lets go, or by a review or a release of the lot file', () => {
  fc.assert(
    fc.property(lotLike, (like) => {
      const lot = made(like);
      const plain = assess(signedFacts(lot), 'test');
      const conceded = plain.checks
        .flatMap((check) => check.findings)
        .filter((finding) => finding.mayBeDecided === 'concession')
        .flatMap(({ id }) => decidedByBoth(id));
      const released = decidedByBoth('f'.repeat(64)).map(({ statement, ...rest }) => ({
        ...rest,
        statement: { ...statement, meaning: 'released' as const },
      }));
      const after = assess(signedFacts(lot, ...conceded, ...released), 'test');
      const said = ({ units }: typeof plain) => units.map(({ verdict, releasable }) => [verdict, releasable]);
      expect(said(after)).toEqual(said(plain));
    }),
    RUNS,
  );
});

it('says the same whatever the order of result rows, steps, coupons and signatures', () => {
  fc.assert(
    fc.property(lotLike, fc.infiniteStream(fc.nat(1000)), (like, keys) => {
      const lot = made(like);
      const shuffled = edited(lot, (copy) => {
        const shuffle = (list: unknown[]) => {
          const keyed = list.map((item) => ({ item, key: keys.next().value as number }));
          list.splice(0, list.length, ...keyed.sort((a, b) => a.key - b.key).map(({ item }) => item));
        };
        for (const list of [copy.results, copy.lot.body.coupons, copy.lot.body.implants]) shuffle(list);
      });
      const bySerial = (of: Facts) =>
        Object.fromEntries(assess(signedFacts(of), 'test').units.map((unit) => [unit.serial, unit.verdict]));
      expect(bySerial(shuffled)).toEqual(bySerial(lot));
    }),
    RUNS,
  );
});

it('never says better of a unit than the worst of what was measured on it alone', () => {
  fc.assert(
    fc.property(lotLike, (like) => {
      const { units, characteristics } = assess(signedFacts(made(like)), 'test');
      for (const unit of units) {
        const own = characteristics.filter((item) => item.unit === unit.serial).map((item) => item.verdict);
        const worst = Math.max(...own.map((verdict) => SEVERITY.indexOf(verdict)));
        expect(SEVERITY.indexOf(unit.verdict)).toBeGreaterThanOrEqual(worst);
      }
    }),
    RUNS,
  );
});
