import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { bartlett, levene } from '../../src/statistics/equal-variance.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('equal variance', () => {
  it(titleOf(reference('A6-GEAR')), () => {
    const item = reference('A6-GEAR');
    const { groups } = item.inputs;
    expect(relativeError(bartlett(groups).statistic, recomputed(item, 'Bartlett T'))).toBeLessThan(1e-9);
    expect(relativeError(bartlett(groups).p, recomputed(item, 'Bartlett p'))).toBeLessThan(1e-9);
    expect(relativeError(levene(groups).statistic, recomputed(item, 'Levene W'))).toBeLessThan(1e-9);
    expect(relativeError(levene(groups).p, recomputed(item, 'Levene p'))).toBeLessThan(1e-9);
  });

  it('does not depend on unit and origin, nor on the order of the groups', () => {
    const group = fc.array(fc.integer({ min: -99, max: 99 }), { minLength: 3, maxLength: 8 });
    fc.assert(
      fc.property(group, group, group, fc.integer({ min: -9, max: 9 }), (a, b, c, shift) => {
        fc.pre([a, b, c].every((values) => new Set(values).size > 2));
        const moved = [c, a, b].map((values) => values.map((value) => shift + 4 * value));
        expect(Math.abs(bartlett(moved).statistic - bartlett([a, b, c]).statistic)).toBeLessThan(1e-9);
        expect(Math.abs(levene(moved).p - levene([a, b, c]).p)).toBeLessThan(1e-9);
      }),
    );
  });

  it('leaves Levene out when every group has two values, and says why', () => {
    const answer = runCalculation(calculationNamed('equal-variance'), {
      groups: [
        [1, 2],
        [1, 4],
      ],
    });
    expect('levene' in answer).toBe(false);
    expect(answer.notes.join()).toContain('groups of two');
  });

  it.each([
    [{ groups: [] }, 'groups'],
    [{ groups: [[1, 2, 3]] }, 'groups'],
    [{ groups: [[1, 2, 3], [1]] }, 'groups.1'],
    [
      {
        groups: [
          [1, 2, 3],
          [5, 5, 5],
        ],
      },
      'groups.1',
    ],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('equal-variance'), input)).toThrow(expect.objectContaining({ field }));
  });
});
