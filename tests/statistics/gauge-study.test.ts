import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { type GaugeStudy, gaugeStudy } from '../../src/statistics/gauge-study.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('crossed gauge study', () => {
  const item = reference('A7-GRR-THERMAL');
  const { data_part_operator_trial: measurements, LSL, USL } = item.inputs;

  it(titleOf(item), () => {
    const input = { measurements, lower: LSL, upper: USL };
    const study = runCalculation(calculationNamed('gauge-study'), input) as never as GaugeStudy;
    const { anova, components } = study;
    const found: [string, number][] = [
      ['SS part', anova.part.sumSquares],
      ['SS operator', anova.operator.sumSquares],
      ['SS part x operator', anova.interaction.sumSquares],
      ['SS error', anova.repeatability.sumSquares],
      ['MS part', anova.part.meanSquare],
      ['MS operator', anova.operator.meanSquare],
      ['MS part x operator', anova.interaction.meanSquare],
      ['MS error', anova.repeatability.meanSquare],
      ['F part', anova.part.f!],
      ['F operator', anova.operator.f!],
      ['F part x operator', anova.interaction.f!],
      ['variance part', components.part],
      ['variance operator', components.operator],
      ['variance part x operator', components.interaction],
      ['variance repeatability', components.repeatability],
      ['variance reproducibility (operator + interaction)', components.reproducibility],
      ['variance gauge', components.gauge],
      ['total variance', components.total],
      ['gauge sd', Math.sqrt(components.gauge)],
      ['% study variation (sd ratio)', 100 * study.studyShare],
      ['number of distinct categories (truncated)', study.distinctCategories!],
      ['precision/tolerance, 6 sd gauge / (USL-LSL)', study.toleranceShare!],
    ];
    for (const [name, value] of found) expect(relativeError(value, recomputed(item, name))).toBeLessThan(1e-9);
    expect([anova.part.df, anova.operator.df, anova.interaction.df, anova.repeatability.df]).toEqual([9, 2, 18, 60]);
  });

  it('is not disturbed by a large common offset', () => {
    const far = gaugeStudy(
      measurements.map((row: number[][]) => row.map((cell) => cell.map((value) => value + 2 ** 40))),
    );
    expect(relativeError(far.components.gauge, recomputed(item, 'variance gauge'))).toBeLessThan(1e-9);
  });

  it('splits the total sum of squares, and does not depend on unit and origin', () => {
    const cell = fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 2, maxLength: 2 });
    const row = fc.array(cell, { minLength: 3, maxLength: 3 });
    fc.assert(
      fc.property(fc.array(row, { minLength: 4, maxLength: 4 }), fc.integer({ min: -9, max: 9 }), (data, shift) => {
        const all = data.flat(2);
        fc.pre(new Set(all).size > 1);
        const mean = all.reduce((sum, value) => sum + value, 0) / all.length;
        const total = all.reduce((sum, value) => sum + (value - mean) ** 2, 0);
        const { anova, components } = gaugeStudy(data);
        const parts = Object.values(anova).reduce((sum, { sumSquares }) => sum + sumSquares, 0);
        expect(relativeError(parts, total)).toBeLessThan(1e-9);
        for (const variance of Object.values(components)) expect(variance).toBeGreaterThanOrEqual(0);
        const moved = gaugeStudy(data.map((r) => r.map((c) => c.map((value) => shift - 2 * value))));
        expect(Math.abs(moved.studyShare - gaugeStudy(data).studyShare)).toBeLessThan(1e-9);
      }),
    );
  });

  it('sets a negative variance to 0 and says what it was', () => {
    const answer = runCalculation(calculationNamed('gauge-study'), calculationNamed('gauge-study').example.input);
    expect(answer).toMatchObject({ components: { interaction: 0 } });
    expect(answer.notes.join()).toContain('variance of interaction was estimated as -0.16');
  });

  it('says what is absent when the gauge shows no spread, or one limit is missing', () => {
    const flat = [
      [
        [1, 1],
        [1, 1],
      ],
      [
        [2, 2],
        [2, 2],
      ],
    ];
    const answer = runCalculation(calculationNamed('gauge-study'), { measurements: flat, upper: 4 });
    expect('distinctCategories' in answer).toBe(false);
    expect('toleranceShare' in answer).toBe(false);
    expect(answer.notes.join()).toContain('needs both limits');
  });

  const TWO = [
    [
      [1, 2],
      [1, 3],
    ],
    [
      [2, 2],
      [4, 2],
    ],
  ];
  it.each([
    [{ measurements: [] }, 'measurements'],
    [
      {
        measurements: [
          [
            [1, 2],
            [2, 3],
          ],
        ],
      },
      'measurements',
    ],
    [{ measurements: [[[1, 2]], [[2, 3]]] }, 'measurements.0'],
    [
      {
        measurements: [
          [[1], [2]],
          [[3], [4]],
        ],
      },
      'measurements.0.0',
    ],
    [
      {
        measurements: [
          [
            [1, 2],
            [1, 2],
          ],
          [[1, 2]],
        ],
      },
      'measurements.1',
    ],
    [
      {
        measurements: [
          [
            [1, 2],
            [1, 2],
          ],
          [
            [1, 2],
            [1, 2, 3],
          ],
        ],
      },
      'measurements.1.1',
    ],
    [
      {
        measurements: [
          [
            [5, 5],
            [5, 5],
          ],
          [
            [5, 5],
            [5, 5],
          ],
        ],
      },
      'measurements',
    ],
    [{ measurements: TWO, lower: 3, upper: 2 }, 'lower'],
    [
      {
        measurements: [
          [
            [1, 'x'],
            [1, 3],
          ],
          [
            [2, 2],
            [4, 2],
          ],
        ],
      },
      'measurements.0.0.1',
    ],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('gauge-study'), input)).toThrow(expect.objectContaining({ field }));
  });
});
