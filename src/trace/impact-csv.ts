import { noFormula, writeCsv } from '../dossier/csv.js';
import { specimenText } from '../dossier/tables.js';
import type { ImpactAnswer } from './impact-answer.js';

/** A row for each lot that could not be assessed again, each implant and each result. */
export function impactCsv({ units, results, notRead }: ImpactAnswer): string {
  const columns = [
    'what',
    'lot',
    'key',
    'characteristic',
    'replicate',
    'value',
    'altered',
    'unit',
    'first',
    'again',
    'margin',
    'where',
  ];
  const rows = [
    ...notRead.map(({ lot, why }) => ['not assessed again', lot, '', '', '', '', '', '', '', '', '', why]),
    ...units.map(({ serial, lot, first, again, place, holder }) => [
      ...['implant', lot, serial, '', '', '', '', '', first, again, '', `${place}, ${holder}`],
    ]),
    ...results.map((row) => [
      ...['result', row.lot, specimenText(row), row.characteristic, row.replicate, row.value, row.valueAgain ?? ''],
      ...[row.ucum, row.first ?? '', row.again ?? '', row.margin === null ? '' : String(row.margin), ''],
    ]),
  ];
  return writeCsv(
    columns,
    rows.map((row) => row.map(noFormula)),
  );
}
