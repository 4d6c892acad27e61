import { CalculationError } from '../base/errors.js';
import { fUpper } from './distributions.js';
import { requireFinite } from './guards.js';
import { checkLimits, type Limits } from './inputs.js';
import { moments } from './summary.js';

/** Measurements by part, operator and trial; every operator measures every part equally often. */
export type CrossedMeasurements = readonly (readonly (readonly number[])[])[];

export interface GaugeAnovaLine {
  readonly sumSquares: number;
  readonly df: number;
  readonly meanSquare: number;
  readonly f?: number;
  readonly p?: number;
}

export interface GaugeStudy {
  readonly anova: Readonly<Record<'part' | 'operator' | 'interaction' | 'repeatability', GaugeAnovaLine>>;
  /** Variances; a negative estimate is set to 0 and listed in `negativeComponents` as it was. */
  readonly components: Readonly<Record<GaugeComponent, number>>;
  readonly negativeComponents: Readonly<Partial<Record<'part' | 'operator' | 'interaction', number>>>;
  /** Six gauge standard deviations over the tolerance. */
  readonly toleranceShare?: number;
  /** Gauge standard deviation over total standard deviation. */
  readonly studyShare: number;
  /** 1.41 × part sd / gauge sd, cut to a whole number; absent when the gauge shows no spread at all. */
  readonly distinctCategories?: number;
}

export type GaugeComponent =
  | 'part'
  | 'operator'
  | 'interaction'
  | 'repeatability'
  | 'reproducibility'
  | 'gauge'
  | 'total';

/**
 * Crossed gauge study: two-way analysis of variance with random parts and operators and their interaction. The F ratios
 * of part and operator are taken against the interaction, that of the interaction against repeatability.
 * The interaction stays in the model even when it is small.
 * Source: Montgomery, Introduction to Statistical Quality Control, gauge capability by analysis of variance;
 * AIAG Measurement Systems Analysis (1.41, truncation).
 * @throws CalculationError for fewer than two parts, operators or trials, for unequal numbers of them, for limits the
 *   wrong way round, or when no measurement differs.
 */
export function gaugeStudy(measurements: CrossedMeasurements, limits: Limits = {}): GaugeStudy {
  checkLimits(limits);
  const { parts, operators, trials } = requireCrossed(measurements);
  const sums = sumsOfSquares(measurements);
  const line = (sumSquares: number, df: number) => ({ sumSquares, df, meanSquare: sumSquares / df });
  const part = line(sums.part, parts - 1);
  const operator = line(sums.operator, operators - 1);
  const interaction = line(sums.interaction, (parts - 1) * (operators - 1));
  const repeatability = line(sums.repeatability, parts * operators * (trials - 1));
  const estimates = {
    part: (part.meanSquare - interaction.meanSquare) / (operators * trials),
    operator: (operator.meanSquare - interaction.meanSquare) / (parts * trials),
    interaction: (interaction.meanSquare - repeatability.meanSquare) / trials,
  };
  const components = addUp(estimates, repeatability.meanSquare);
  if (!(components.total > 0)) throw new CalculationError('measurements', 'the measurements do not differ');
  const gaugeSd = Math.sqrt(components.gauge);
  const { lower, upper } = limits;
  return {
    anova: {
      part: against(part, interaction),
      operator: against(operator, interaction),
      interaction: against(interaction, repeatability),
      repeatability,
    },
    components,
    negativeComponents: Object.fromEntries(Object.entries(estimates).filter(([, variance]) => variance < 0)),
    ...(lower !== undefined && upper !== undefined && { toleranceShare: (6 * gaugeSd) / (upper - lower) }),
    studyShare: Math.sqrt(components.gauge / components.total),
    ...(gaugeSd > 0 && { distinctCategories: Math.trunc((1.41 * Math.sqrt(components.part)) / gaugeSd) }),
  };
}

function addUp(
  estimates: Readonly<Record<'part' | 'operator' | 'interaction', number>>,
  repeatability: number,
): Record<GaugeComponent, number> {
  const part = Math.max(0, estimates.part);
  const operator = Math.max(0, estimates.operator);
  const interaction = Math.max(0, estimates.interaction);
  const reproducibility = operator + interaction;
  const gauge = reproducibility + repeatability;
  return { part, operator, interaction, repeatability, reproducibility, gauge, total: part + gauge };
}

function against(line: GaugeAnovaLine, error: GaugeAnovaLine): GaugeAnovaLine {
  if (!(error.meanSquare > 0)) return line;
  const f = line.meanSquare / error.meanSquare;
  return { ...line, f, p: fUpper(f, line.df, error.df) };
}

/** Each sum is taken from deviations, so that a large common offset costs no digits. */
function sumsOfSquares(measurements: CrossedMeasurements) {
  const origin = measurements[0]![0]![0]!;
  const cells = measurements.map((row) => row.map((trials) => moments(trials.map((value) => value - origin))));
  const operators = cells[0]!.length;
  const trials = cells[0]![0]!.n;
  const partMeans = cells.map((row) => moments(row.map(({ mean }) => mean)));
  const operatorMeans = cells[0]!.map((_, j) => moments(cells.map((row) => row[j]!.mean)).mean);
  const grand = moments(partMeans.map(({ mean }) => mean));
  let interaction = 0;
  cells.forEach((row, i) => {
    row.forEach(({ mean }, j) => {
      interaction += (mean - partMeans[i]!.mean - operatorMeans[j]! + grand.mean) ** 2;
    });
  });
  return {
    part: operators * trials * grand.sumSquares,
    operator: cells.length * trials * moments(operatorMeans).sumSquares,
    interaction: trials * interaction,
    repeatability: cells.flat().reduce((sum, cell) => sum + cell.sumSquares, 0),
  };
}

function requireCrossed(measurements: CrossedMeasurements): { parts: number; operators: number; trials: number } {
  const parts = measurements.length;
  if (parts < 2) throw new CalculationError('measurements', `found ${parts} parts, needs at least 2`);
  const operators = measurements[0]!.length;
  if (operators < 2) throw new CalculationError('measurements.0', `found ${operators} operators, needs at least 2`);
  const trials = measurements[0]![0]!.length;
  if (trials < 2) throw new CalculationError('measurements.0.0', `found ${trials} trials, needs at least 2`);
  measurements.forEach((row, i) => {
    if (row.length !== operators) {
      throw new CalculationError(`measurements.${i}`, `found ${row.length} operators, the first part has ${operators}`);
    }
    row.forEach((cell, j) => {
      const field = `measurements.${i}.${j}`;
      if (cell.length !== trials) {
        throw new CalculationError(field, `found ${cell.length} trials, the first cell has ${trials}`);
      }
      cell.forEach((value, k) => {
        requireFinite(value, `${field}.${k}`);
      });
    });
  });
  return { parts, operators, trials };
}
