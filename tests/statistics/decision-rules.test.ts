import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import {
  conformanceProbability,
  type DecisionInput,
  decide,
  globalRisks,
  guardBand,
} from '../../src/statistics/decision-rules.js';
import { normalCdf } from '../../src/statistics/distributions.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

describe('conformance probability and guard bands', () => {
  it(titleOf(reference('A7-CONFORM-CONTAINER')), () => {
    const item = reference('A7-CONFORM-CONTAINER');
    const { estimate, u, lower_limit } = item.inputs;
    const found = conformanceProbability({ value: estimate, standardUncertainty: u, lower: lower_limit });
    expect(relativeError(found, recomputed(item, 'pc'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A7-CONFORM-ZENER')), () => {
    const item = reference('A7-CONFORM-ZENER');
    const { estimate, u, upper_limit } = item.inputs;
    const found = conformanceProbability({ value: estimate, standardUncertainty: u, upper: upper_limit });
    expect(relativeError(found, recomputed(item, 'pc'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A7-GUARD')), () => {
    const item = reference('A7-GUARD');
    const { u, USL, LSL } = item.inputs;
    expect(relativeError(guardBand(1, 0.95), recomputed(item, 'z 95%'))).toBeLessThan(1e-9);
    expect(relativeError(guardBand(1, 0.975), recomputed(item, 'z 97.5%'))).toBeLessThan(1e-9);
    const found = decide({ value: 9.5, standardUncertainty: u, lower: LSL, upper: USL, rule: 'guarded' });
    expect(relativeError(found.acceptanceUpper!, recomputed(item, 'upper acceptance limit, 95%'))).toBeLessThan(1e-9);
    expect(relativeError(found.acceptanceLower!, recomputed(item, 'lower acceptance limit, 95%'))).toBeLessThan(1e-9);
  });
});

describe('verdicts', () => {
  const TOLERANCE = { lower: 9, upper: 10, standardUncertainty: 0.1 };
  // By hand: guard band 0.1645.
  it.each([
    [9.5, 'simple', 'conforms'],
    [10, 'simple', 'conforms'],
    [10.01, 'simple', 'does not conform'],
    [9.83, 'guarded', 'conforms'],
    [9.84, 'guarded', 'cannot be decided'],
    [10, 'guarded', 'cannot be decided'],
    [10.16, 'guarded', 'cannot be decided'],
    [10.17, 'guarded', 'does not conform'],
    [9.16, 'guarded', 'cannot be decided'],
    [8.83, 'guarded', 'does not conform'],
  ] as const)('%d by the %s rule: %s', (value, rule, verdict) => {
    expect(decide({ ...TOLERANCE, value, rule }).verdict).toBe(verdict);
  });

  it('without uncertainty decides as the limits do', () => {
    expect(decide({ value: 10, upper: 10, standardUncertainty: 0, rule: 'guarded' })).toEqual({
      verdict: 'conforms',
      acceptanceUpper: 10,
      conformanceProbability: 1,
    });
    expect(decide({ value: 10.1, upper: 10, standardUncertainty: 0, rule: 'guarded' }).verdict).toBe(
      'does not conform',
    );
  });

  it('never proves conformity with less than the confidence, one limit', () => {
    const unit = fc.double({ min: -5, max: 5, noNaN: true });
    const confidence = fc.double({ min: 0.51, max: 0.999, noNaN: true });
    fc.assert(
      fc.property(
        unit,
        fc.double({ min: 0.01, max: 2, noNaN: true }),
        confidence,
        (value, standardUncertainty, level) => {
          const input: DecisionInput = { value, standardUncertainty, upper: 0, rule: 'guarded', confidence: level };
          const { verdict, conformanceProbability: probability } = decide(input);
          if (verdict === 'conforms') expect(probability).toBeGreaterThanOrEqual(level - 1e-12);
          if (verdict === 'does not conform') expect(probability).toBeLessThanOrEqual(1 - level + 1e-12);
          if (verdict === 'cannot be decided')
            expect(Math.abs(probability - 0.5)).toBeLessThanOrEqual(level - 0.5 + 1e-12);
        },
      ),
    );
  });

  it('cannot accept anything when the guard bands meet, and says so', () => {
    const input = { value: 9.5, standardUncertainty: 1, lower: 9, upper: 10, rule: 'guarded' };
    const answer = runCalculation(calculationNamed('decision'), input);
    expect(answer).toMatchObject({ verdict: 'cannot be decided' });
    expect(answer.notes.join()).toContain('empty');
  });

  it.each([
    [{ value: 1, standardUncertainty: 0.1, rule: 'simple' }, 'lower'],
    [{ value: 1, standardUncertainty: 0.1, lower: 2, upper: 1, rule: 'simple' }, 'lower'],
    [{ value: 1, standardUncertainty: -0.1, lower: 0, rule: 'simple' }, 'standardUncertainty'],
    [{ value: 1, lower: 0, rule: 'simple' }, 'standardUncertainty'],
    [{ value: 1, standardUncertainty: 0.1, lower: 0, rule: 'lenient' }, 'rule'],
    [{ value: 1, standardUncertainty: 0.1, lower: 0, rule: 'guarded', confidence: 1 }, 'confidence'],
    [{ value: 1, standardUncertainty: 0.1, lower: 0, rule: 'guarded', confidence: 0.4 }, 'confidence'],
    [{ value: Number.NaN, standardUncertainty: 0.1, lower: 0, rule: 'simple' }, 'value'],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('decision'), input)).toThrow(expect.objectContaining({ field }));
  });
});

describe('global risks', () => {
  const item = reference('A7-RISK-OPEN');
  const { tolerance_half_width: half, process_sd, measurement_u, acceptance_half_widths } = item.inputs;
  const PROCESS = {
    lower: -half,
    upper: half,
    processMean: 0,
    processSd: process_sd,
    standardUncertainty: measurement_u,
  };

  it.each(acceptance_half_widths as number[])(`${titleOf(item)}: acceptance ± %d`, (width) => {
    const found = globalRisks({ ...PROCESS, acceptanceLower: -width, acceptanceUpper: width });
    const consumer = recomputed(item, `global consumer risk, acceptance limit +-${width}`);
    const producer = recomputed(item, `global producer risk, acceptance limit +-${width}`);
    expect(relativeError(found.consumerRisk, consumer)).toBeLessThan(1e-9);
    expect(relativeError(found.producerRisk, producer)).toBeLessThan(1e-9);
  });

  it('balances: accepted = conforming − producer risk + consumer risk', () => {
    const quantity = fc.double({ min: 0.01, max: 3, noNaN: true });
    fc.assert(
      fc.property(quantity, quantity, fc.double({ min: -2, max: 2, noNaN: true }), quantity, (sd, u, mean, guard) => {
        const risks = globalRisks({
          lower: -1,
          upper: 1.5,
          processMean: mean,
          processSd: sd,
          standardUncertainty: u,
          acceptanceLower: -1 - guard,
          acceptanceUpper: 1.5 - guard / 4,
        });
        const conforming = normalCdf((1.5 - mean) / sd) - normalCdf((-1 - mean) / sd);
        const total = Math.hypot(sd, u);
        const accepted = normalCdf((1.5 - guard / 4 - mean) / total) - normalCdf((-1 - guard - mean) / total);
        expect(Math.abs(accepted - (conforming - risks.producerRisk + risks.consumerRisk))).toBeLessThan(1e-12);
      }),
    );
  });

  it('agrees with simulated items', () => {
    const normal = normalNumbers(41);
    const runs = 200_000;
    let consumer = 0;
    let producer = 0;
    for (let run = 0; run < runs; run++) {
      const truth = process_sd * normal();
      const accepted = Math.abs(truth + measurement_u * normal()) <= half;
      const conforms = Math.abs(truth) <= half;
      if (accepted && !conforms) consumer += 1;
      if (!accepted && conforms) producer += 1;
    }
    const risks = globalRisks(PROCESS);
    // Standard deviations of the shares are 0.0003 and 0.0004; four of these.
    expect(Math.abs(consumer / runs - risks.consumerRisk)).toBeLessThan(0.0012);
    expect(Math.abs(producer / runs - risks.producerRisk)).toBeLessThan(0.0017);
  });

  it('keeps its digits far out: one limit at eight standard deviations (scipy 1.17, quad in pieces of 0.05)', () => {
    const risks = globalRisks({ upper: 8, processMean: 0, processSd: 1, standardUncertainty: 0.1 });
    expect(relativeError(risks.consumerRisk, 1.3127160891647573e-16)).toBeLessThan(1e-9);
  });

  it.each([
    [{ processMean: 0, processSd: 1, standardUncertainty: 1 }, 'lower'],
    [{ upper: 1, processMean: 0, processSd: 0, standardUncertainty: 1 }, 'processSd'],
    [{ upper: 1, processMean: 0, processSd: 1, standardUncertainty: 0 }, 'standardUncertainty'],
    [{ upper: 1, processMean: 0, processSd: 1, standardUncertainty: 1, acceptanceLower: 0 }, 'acceptanceLower'],
    [
      { lower: 0, upper: 1, processMean: 0, processSd: 1, standardUncertainty: 1, acceptanceLower: 2 },
      'acceptanceLower',
    ],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('decision-risk'), input)).toThrow(expect.objectContaining({ field }));
  });
});
