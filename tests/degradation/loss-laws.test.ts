import { chosenLaw, fitLaws, type LawName } from '../../src/degradation/loss-laws.js';

/**
 * Statistical Reference Datasets of the National Institute of Standards and Technology (USA), certified to eleven digits:
 * BoxBOD (demand of oxygen over days of incubation; Box, Hunter and Hunter, 1978) and Misra1a (adsorption; Misra, 1978), a
 * saturating law each with 1/b as rate; DanWood (radiation; Daniel and Wood, 1980), a power law; NoInt1, a line through the
 * origin.
 */
const CERTIFIED: readonly {
  readonly name: string;
  readonly law: LawName;
  readonly values: readonly (readonly [x: number, y: number])[];
  readonly a: readonly [value: number, deviation: number];
  /** Of `b` in `h^b`, of 1/b in `1 − exp(−h/b)`. */
  readonly b?: readonly [value: number, deviation: number];
  readonly squares: number;
}[] = [
  {
    name: 'BoxBOD',
    law: 'saturating',
    values: [
      [1, 109],
      [2, 149],
      [3, 149],
      [5, 191],
      [7, 213],
      [10, 224],
    ],
    a: [213.80940889, 12.354515176],
    b: [0.54723748542, 0.10455993237],
    squares: 1168.0088766,
  },
  {
    name: 'Misra1a',
    law: 'saturating',
    values: [
      [77.6, 10.07],
      [114.9, 14.73],
      [141.1, 17.94],
      [190.8, 23.93],
      [239.9, 29.61],
      [289, 35.18],
      [332.8, 40.02],
      [378.4, 44.82],
      [434.8, 50.76],
      [477.3, 55.05],
      [536.8, 61.01],
      [593.1, 66.4],
      [689.1, 75.47],
      [760, 81.78],
    ],
    a: [238.94212918, 2.7070075241],
    b: [5.5015643181e-4, 7.2668688436e-6],
    squares: 0.12455138894,
  },
  {
    name: 'DanWood',
    law: 'power',
    values: [
      [1.309, 2.138],
      [1.471, 3.421],
      [1.49, 3.597],
      [1.565, 4.34],
      [1.611, 4.882],
      [1.68, 5.66],
    ],
    a: [0.76886226176, 0.01828197386],
    b: [3.8604055871, 0.051726610913],
    squares: 0.0043173084083,
  },
  {
    name: 'NoInt1',
    law: 'linear',
    values: Array.from({ length: 11 }, (_, index) => [60 + index, 130 + index] as const),
    a: [2.07438016528926, 0.0165289256198347],
    squares: 127.272727272727,
  },
];

describe('laws of loss against certified fits', () => {
  it.each(CERTIFIED)('$name: a $law law', ({ law, values, a, b, squares }) => {
    // With the variance of what is left over, χ² is its degrees of freedom, and the covariance that of the certificate.
    const varianceUm2 = squares / (values.length - (b ? 2 : 1));
    const losses = values.map(([hours, depthUm]) => ({ hours, depthUm, varianceUm2 }));
    const found = fitLaws(losses, values.length).find((one) => one.law === law)!;
    expect(found.a / a[0]).toBeCloseTo(1, 6);
    if (b) expect((law === 'saturating' ? 1 / found.b! : found.b!) / b[0]).toBeCloseTo(1, 6);
    expect((found.chiSquare * varianceUm2) / squares).toBeCloseTo(1, 6);
    // A saturating law ends at a, a power law is a at one, a line has slope a: there the variance is that of a.
    const deviation = Math.sqrt(found.varianceAt(law === 'saturating' ? 1e9 : 1));
    expect(deviation / a[1]).toBeCloseTo(1, 4);
  });

  it('takes the law that explains the values, and the plainer one where both do', () => {
    const of = (values: readonly (readonly [number, number])[], varianceUm2: number) => {
      const losses = values.map(([hours, depthUm]) => ({ hours, depthUm, varianceUm2 }));
      return chosenLaw(fitLaws(losses, values.length))?.law;
    };
    const [, misra, wood, line] = CERTIFIED;
    expect(of(misra!.values, 0.01)).toBe('saturating');
    expect(of(wood!.values, 0.001)).toBe('power');
    expect(of(line!.values.slice(0, 8), 13)).toBe('linear');
  });
});
