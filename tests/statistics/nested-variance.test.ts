import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { oneWayAnova } from '../../src/statistics/anova.js';
import { nestedVariance, pooledSd } from '../../src/statistics/nested-variance.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('nested variance', () => {
  it(titleOf(reference('A7-NESTED-LITHO')), () => {
    const item = reference('A7-NESTED-LITHO');
    const { anova, components, grandMean } = nestedVariance(item.inputs.data_cassette_wafer_site);
    const found: [string, number][] = [
      ['SS cassette', anova[0]!.sumSquares],
      ['MS cassette', anova[0]!.meanSquare],
      ['SS wafer(cassette)', anova[1]!.sumSquares],
      ['MS wafer(cassette)', anova[1]!.meanSquare],
      ['SS residual', anova[2]!.sumSquares],
      ['MS residual', anova[2]!.meanSquare],
      ['variance cassette', components[0]!.variance],
      ['variance wafer(cassette)', components[1]!.variance],
      ['variance site', components[2]!.variance],
      ['grand mean', grandMean],
    ];
    for (const [name, value] of found) expect(relativeError(value, recomputed(item, name))).toBeLessThan(1e-9);
    expect(anova.map(({ df }) => df)).toEqual([29, 60, 360]);
  });

  it(titleOf(reference('A7-THREELEVEL-140')), () => {
    const item = reference('A7-THREELEVEL-140');
    const rows = item.inputs.rows as [number, number, number][];
    const runs = [1, 2].map((run) => rows.filter(([number]) => number === run).map(([, average]) => average));
    const { anova } = nestedVariance(runs);
    const levelTwo = Math.sqrt(anova[1]!.meanSquare);
    const levelThree = Math.sqrt(anova[0]!.meanSquare / 6);
    expect(relativeError(levelTwo, recomputed(item, 'level-2 pooled sd (10 df)'))).toBeLessThan(1e-9);
    expect(relativeError(levelThree, recomputed(item, 'level-3 sd (1 df)'))).toBeLessThan(1e-9);
    const levelOne = pooledSd(
      rows.map(([, , sd]) => sd),
      rows.map(() => 5),
    );
    expect(relativeError(levelOne, recomputed(item, 'level-1 pooled sd (60 df)'))).toBeLessThan(1e-9);
  });

  it('with two levels is the one-way analysis of variance', () => {
    const row = fc.array(fc.integer({ min: -99, max: 99 }), { minLength: 3, maxLength: 3 });
    fc.assert(
      fc.property(fc.array(row, { minLength: 2, maxLength: 6 }), (data) => {
        const { anova } = nestedVariance(data);
        const table = oneWayAnova(data);
        expect(Math.abs(anova[0]!.meanSquare - table.betweenMeanSquare)).toBeLessThan(1e-7);
        expect(Math.abs(anova[1]!.meanSquare - table.withinMeanSquare)).toBeLessThan(1e-7);
      }),
    );
  });

  it.each([
    [{ data: [] }, 'data'],
    [{ data: [1, 2, 3] }, 'data'],
    [{ data: [[1, 2]] }, 'data'],
    [{ data: [[1], [2]] }, 'data'],
    [
      {
        data: [
          [1, 2],
          [1, 2, 3],
        ],
      },
      'data.1',
    ],
    [
      {
        data: [
          [1, 2],
          [1, [2, 3]],
        ],
      },
      'data.1.1',
    ],
    [
      {
        data: [
          [
            [1, 2],
            [3, 4],
          ],
          [[1, 2], 5],
        ],
      },
      'data.1.1',
    ],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('nested-variance'), input)).toThrow(
      expect.objectContaining({ field }),
    );
  });

  it('refuses text that is no number, in the depth', () => {
    const input = {
      data: [
        [1, 2],
        [1, 'x'],
      ],
    };
    expect(() => runCalculation(calculationNamed('nested-variance'), input)).toThrow(
      expect.objectContaining({ code: 'CALCULATION_INPUT', field: expect.stringContaining('data') }),
    );
  });
});
