import { runCalculation } from '../calculations/calculation.js';
import { calculationNamed } from '../calculations/catalogue.js';

/** A published number, as it is printed there, and the calculation that must give it. */
export interface ReferenceNumber {
  readonly calculation: string;
  readonly input: unknown;
  /** Path of the number in the answer: `criticals.0`. */
  readonly field: string;
  /** As printed: every digit of it must come out. */
  readonly published: string;
  readonly source: string;
}

const RESISTANCE = [
  [196.3052, 196.124, 196.189, 196.2569, 196.3403],
  [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
  [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
  [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
  [196.2119, 196.1051, 196.185, 196.0052, 196.209],
];

const GRUBBS = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];

const number = (
  calculation: string,
  input: unknown,
  field: string,
  published: string,
  source: string,
): ReferenceNumber => ({ calculation, input, field, published, source });

/** A few numbers of every area, small enough to be compared by hand with what is printed. */
export const REFERENCE_NUMBERS: readonly ReferenceNumber[] = [
  number('summary', { values: ['10000001', '10000003', '10000002'] }, 'mean', '10000002', 'NIST StRD, NumAcc1'),
  number('summary', { values: ['10000001', '10000003', '10000002'] }, 'sd', '1', 'NIST StRD, NumAcc1'),
  number('one-way-anova', { groups: RESISTANCE }, 'f', '1.18046237440', 'NIST StRD, SiRstv'),
  number('chart-constants', { n: 5 }, 'd2', '2.326', 'ASTM Manual on Presentation of Data, table of factors'),
  number('chart-constants', { n: 5 }, 'c4', '0.9400', 'ASTM Manual on Presentation of Data, table of factors'),
  number('chart-constants', { n: 10 }, 'A3', '0.975', 'ASTM Manual on Presentation of Data, table of factors'),
  number(
    'run-length',
    { chart: 'shewhart', width: 3, shift: 0 },
    'averageRunLength',
    '370.40',
    'Champ and Woodall, Technometrics 29 (1987), rule 1',
  ),
  number(
    'tolerance-factor',
    { n: 43, content: 0.9, confidence: 0.99, sides: 2, method: 'howe' },
    'k',
    '2.217',
    'NIST/SEMATECH e-Handbook 7.2.6.3',
  ),
  number('sample-size', { content: 0.95, confidence: 0.95 }, 'n', '59', 'binomial, ln 0.05 / ln 0.95 rounded up'),
  number(
    'sampling-plan',
    { lotSize: 1000, level: 'II', aql: '0.40', inspection: 'normal' },
    'n',
    '125',
    'MIL-STD-105E, table II-A',
  ),
  number(
    'outlier',
    { values: GRUBBS, alpha: 0.05, sides: 1 },
    'criticals.0',
    '2.032',
    'NIST/SEMATECH e-Handbook 1.3.5.17.1',
  ),
  number(
    'trend-test',
    { values: [9, 15, 19, 20, 45, 55, 78], x: [1, 2, 3, 4, 10, 12, 18], confidence: 0.93 },
    'slopeLower',
    '3.71',
    'Sen, J. American Statistical Association 63 (1968)',
  ),
  number('round', { value: '12.275', place: '0.1', rule: 'half-even' }, 'rounded', '12.3', 'ISO 80000-1 annex B'),
  number(
    'round',
    { value: '12.25', place: '0.1', rule: 'half-even' },
    'rounded',
    '12.2',
    'ISO 80000-1 annex B, rule A',
  ),
  number(
    'mass-loss-rate',
    { massLossG: 0.001, areaCm2: 1, timeH: 24, densityGPerCm3: 1.738 },
    'mmPerYear',
    '2.10',
    'Shi, Liu and Atrens, Corrosion Science 52 (2010): factor of magnesium, after ASTM G1',
  ),
  number(
    'current-rate',
    { currentUaPerCm2: 1000, equivalentWeight: 12.1525, densityGPerCm3: 1.738 },
    'mmPerYear',
    '22.85',
    'Shi, Liu and Atrens, Corrosion Science 52 (2010): factor of magnesium, after ASTM G102',
  ),
];

export interface ComparedNumber {
  readonly name: string;
  readonly expected: string;
  readonly found: string;
  readonly ok: boolean;
}

/** Computes one of them, and compares it with what is printed, to half a unit of the last printed digit. */
export function compareNumber({ calculation, input, field, published, source }: ReferenceNumber): ComparedNumber {
  const answer = runCalculation(calculationNamed(calculation), input) as unknown;
  const found = field.split('.').reduce((value, key) => (value as Record<string, unknown>)[key], answer);
  const decimals = published.split('.')[1]?.length ?? 0;
  return {
    name: `${calculation} ${field} (${source})`,
    expected: published,
    found: String(found),
    // A text answer must be that text; of a number every printed digit must come out.
    ok:
      typeof found === 'string'
        ? found === published
        : Math.abs(Number(found) - Number(published)) <= 0.5000001 * 10 ** -decimals,
  };
}
