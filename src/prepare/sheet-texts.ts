import { writeCsv } from '../dossier/csv.js';
import type { PlannedValue } from '../kinds/planned-values.js';
import { RESULT_COLUMNS } from '../kinds/result.js';
import type { PreparedLot } from './prepared-lot.js';

/** Result sheets by their path in the lot folder: a line for each planned value, which waits for the value. */
export function sheetTexts({ values }: PreparedLot): Record<string, string> {
  const of = (measuredOn: 'implant' | 'coupon') => values.filter(({ item }) => item.measuredOn === measuredOn);
  const sheets = { 'results/coupons.csv': of('coupon'), 'results/implants.csv': of('implant') };
  return Object.fromEntries(
    Object.entries(sheets).flatMap(([file, own]) =>
      own.length === 0 ? [] : [[file, writeCsv(RESULT_COLUMNS.all, own.map(row))]],
    ),
  );
}

function row({ specimen, item, replicate }: PlannedValue): string[] {
  const { characteristic, ucum, method } = item;
  const known: Readonly<Record<string, string>> = {
    specimen,
    characteristic,
    replicate: String(replicate),
    ucum,
    method: method.method,
    methodRevision: String(method.revision),
  };
  return RESULT_COLUMNS.all.map((name) => known[name] ?? '');
}
