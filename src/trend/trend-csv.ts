import { noFormula, writeCsv } from '../dossier/csv.js';
import type { TrendReport } from './family-trend.js';

const COLUMNS = ['lot', 'build', 'builtAt', 'n', 'mean', 'min', 'max', 'censored', 'takenOut'] as const;

/** Each build of a trend as a row, in build order; empty where a build has no number. */
export function trendCsv({ lots }: Pick<TrendReport, 'lots'>): string {
  return writeCsv(
    COLUMNS,
    lots.map((row) => COLUMNS.map((name) => noFormula(String(row[name] ?? '')))),
  );
}
