import { z } from 'zod';
import { values } from '../statistics/inputs.js';
import { andersonDarling, SHAPIRO_WILK_SIZES, shapiroWilk } from '../statistics/normality.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({ values: values('the measured values', 3) });

export const normality: AnyCalculation = defineCalculation({
  name: 'normality',
  purpose: 'Whether values could come from a normal distribution (Anderson–Darling and Shapiro–Wilk)',
  input,
  output: {
    andersonDarling:
      'statistic A² (mean and sd with n − 1 estimated), adjusted A²(1 + 0.75/n + 2.25/n²), p; small p speaks against normality',
    shapiroWilk: 'w and p by algorithm AS R94, for 3 to 5000 values; small p speaks against normality',
  },
  formula: [
    'z_i = (x_i − mean)/sd in ascending order, Φ the standard normal distribution function',
    'A² = −n − (1/n) Σ (2i − 1)(ln Φ(z_i) + ln(1 − Φ(z_{n+1−i}))); adjusted a = A²(1 + 0.75/n + 2.25/n²)',
    'p = 1 − exp(−13.436 + 101.14 a − 223.73 a²) for a < 0.2; 1 − exp(−8.318 + 42.796 a − 59.938 a²) for a < 0.34;',
    '    exp(0.9177 − 4.279 a − 1.38 a²) for a < 0.6; exp(1.2937 − 5.709 a + 0.0186 a²) from 0.6 on (a cut at 10)',
    'm_i = Φ⁻¹((i − 0.375)/(n + 0.25)), M = Σ m_i², u = 1/√n; weights of the largest two values:',
    '    a_n = m_n/√M + 0.221157u − 0.147981u² − 2.07119u³ + 4.434685u⁴ − 2.706056u⁵',
    '    a_{n−1} = m_{n−1}/√M + 0.042981u − 0.293762u² − 1.752461u³ + 5.682633u⁴ − 3.582633u⁵ (from n = 6 on)',
    '    others a_i = m_i/√φ, φ = (M − 2m_n² − 2m_{n−1}²)/(1 − 2a_n² − 2a_{n−1}²) (n ≤ 5: without the n − 1 terms);',
    '    a_{n+1−i} = −a_i; n = 3: a = (−√½, 0, √½)',
    'w = (Σ a_i x_i)² / (Σ a_i² Σ (x_i − mean)²)',
    'p = 1 − Φ((y − μ)/σ); n = 4..11: y = −ln(−2.273 + 0.459n − ln(1 − w)), μ = 0.544 − 0.39978n + 0.025054n² − 0.0006714n³,',
    '    σ = exp(1.3822 − 0.77857n + 0.062767n² − 0.0020322n³); n ≥ 12, l = ln n: y = ln(1 − w),',
    '    μ = −1.5861 − 0.31082l − 0.083751l² + 0.0038915l³, σ = exp(−0.4803 − 0.082676l + 0.0030302l²);',
    '    n = 3: p = (6/π)(arcsin √w − arcsin √¾)',
  ].join('\n'),
  source:
    'D’Agostino and Stephens, Goodness-of-Fit Techniques (1986), table 4.9; Royston, Applied Statistics 44 (1995), AS R94',
  example: {
    input: { values: [115, 117, 120, 123, 126, 129, 132, 135, 139, 142, 146, 150, 154, 159, 164] },
    source: 'R data set women, weight; W and p as R’s shapiro.test prints them: 0.96036, 0.6986',
    steps: [
      'n = 15, mean = 136.7333, sd = 15.49869; z from −1.40227 to 1.75929',
      'A² = 0.193026; adjusted = 0.193026 × (1 + 0.05 + 0.01) = 0.204608',
      'p = 1 − exp(−8.318 + 42.796 × 0.204608 − 59.938 × 0.204608²) = 1 − exp(−2.07088) = 0.87392',
      'm_15 = Φ⁻¹(14.625/15.25) = 1.739384, m_14 = 1.245046, M = 12.768204, u = 0.258199; a_15 = 0.514967, a_14 = 0.330927',
      'φ = 14.433831; Σ a_i x_i = 56.829721, Σ a_i² = 1, Σ (x_i − mean)² = 3362.9333; w = 56.829721²/3362.9333 = 0.960357',
      'l = ln 15 = 2.708050; y = ln(1 − w) = −3.227845; μ = −2.964724, σ = 0.505621',
      'p = 1 − Φ((−3.227845 + 2.964724)/0.505621) = 1 − Φ(−0.520394) = 0.698605',
    ],
  },
  compute({ values: list }: z.infer<typeof input>) {
    const fitsRoyston = list.length <= SHAPIRO_WILK_SIZES.largest;
    return {
      andersonDarling: andersonDarling(list),
      ...(fitsRoyston && { shapiroWilk: shapiroWilk(list) }),
      method: 'Anderson–Darling, mean and sd (n − 1) estimated, p by D’Agostino and Stephens; Shapiro–Wilk by AS R94',
      source: 'D’Agostino and Stephens (1986), table 4.9; Royston (1995), AS R94',
      notes: notesWhere(
        [true, 'a large p does not prove normality: small samples see only gross departures'],
        [list.length < 8, 'the p of Anderson–Darling is meant for 8 values and more'],
        [!fitsRoyston, 'shapiroWilk is absent: algorithm AS R94 takes 5000 values at most'],
      ),
    };
  },
});
