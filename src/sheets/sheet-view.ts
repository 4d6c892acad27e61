import type { SiteZone } from '../base/clock.js';
import type { Problem } from '../base/errors.js';
import { perUnit } from '../dossier/unit-text.js';
import type { TypedFields } from '../entry/typed-fields.js';
import { ENTRY_FORMS } from '../report/phrases/entry-forms.js';
import { RESULT_SHEETS } from '../report/phrases/result-sheets.js';
import type { FormError } from '../web/form-errors.js';
import { SCANNED } from './next-field.js';
import { type Difference, fieldOf, type HeadField, ROW_FIELDS, type RowField, SHEET_HEAD } from './sheet-fields.js';
import type { MethodRows, SheetRow } from './waiting-values.js';

const isTime = (name: HeadField): boolean => name === 'startedAt' || name === 'measuredAt';

/** A longer sheet shows one of its characteristics open, and of the others how far each is. */
const MOST_OPEN_ROWS = 24;

/** The form of a sheet as its template draws it. */
export function sheetView({ rows }: MethodRows, fields: TypedFields, errors: readonly FormError[], zone: SiteZone) {
  const wrongAt = (field: string) => errors.filter((error) => error.field === field).map(({ says }) => says);
  const byItem = new Map<string, SheetRow[]>();
  for (const row of rows) byItem.set(row.item.characteristic, [...(byItem.get(row.item.characteristic) ?? []), row]);
  const isFolded = rows.length > MOST_OPEN_ROWS && byItem.size > 1;
  const isEmpty = (row: SheetRow) => (fields[fieldOf('value', row)] ?? '') === '';
  const isWrong = (row: SheetRow) => ROW_FIELDS.some((field) => wrongAt(fieldOf(field, row)).length > 0);
  const begun = rows.find(isEmpty)?.item.characteristic;
  return {
    head: SHEET_HEAD.map((name) => {
      const value = fields[name] ?? '';
      return {
        name,
        label: RESULT_SHEETS.head[name],
        mayMiss: name === 'startedAt',
        value,
        local: isTime(name) ? (value === '' ? '' : zone.local(value)) : undefined,
        known: name === 'instrument' ? 'known-instrument' : 'known-person',
        zone: ENTRY_FORMS.clock(zone.name),
        wrong: wrongAt(name),
      };
    }),
    items: [...byItem.values()].map((own) => {
      const { item } = own[0]!;
      return {
        characteristic: item.characteristic,
        title: item.title,
        unit: perUnit(item.ucum),
        fold: isFolded
          ? {
              says: RESULT_SHEETS.typedOf(own.filter((row) => !isEmpty(row)).length, own.length),
              isOpen: item.characteristic === begun || own.some(isWrong),
            }
          : null,
        rows: own.map((row) => ({
          specimen: row.specimen,
          n: item.replicates > 1 ? row.n : undefined,
          cells: ROW_FIELDS.map((field) => ({
            name: fieldOf(field, row),
            field,
            label: labelOf(field, row),
            value: fields[fieldOf(field, row)] ?? '',
            wrong: wrongAt(fieldOf(field, row)),
          })),
        })),
      };
    }),
  };
}

const labelOf = (field: RowField, { item, specimen, n }: SheetRow): string =>
  RESULT_SHEETS.field(RESULT_SHEETS.row[field], item.title, specimen, n);

/** What each field of a sheet is called where it is told of. */
function labels({ rows }: MethodRows): ReadonlyMap<string, string> {
  const names = new Map<string, string>([...Object.entries(RESULT_SHEETS.head), [SCANNED, RESULT_SHEETS.scanned]]);
  for (const row of rows) for (const field of ROW_FIELDS) names.set(fieldOf(field, row), labelOf(field, row));
  return names;
}

/** Each field once: what is wrong with the head of a sheet is wrong in every line. */
export function sheetErrors(method: MethodRows, problems: readonly Problem[]): FormError[] {
  const known = labels(method);
  const told = problems.filter(({ field }, index) => problems.findIndex((other) => other.field === field) === index);
  return told.map(({ field = '', found, expected, remedy }) => {
    const label = known.get(field) ?? field;
    const isEmpty = found === '""';
    const says = isEmpty ? ENTRY_FORMS.empty(label) : ENTRY_FORMS.wrong(label, found, expected, remedy);
    return { field: known.has(field) ? field : null, says };
  });
}

export const differenceErrors = (method: MethodRows, by: string, found: readonly Difference[]): FormError[] =>
  found.map(({ field, first, second }) => ({
    field,
    says: RESULT_SHEETS.differs(labels(method).get(field)!, by, first, second),
  }));

/** What the first person is told of a sheet that came back: where, and not what the second one read. */
export const returnedErrors = (method: MethodRows, again: string | undefined): FormError[] =>
  (again ?? '').split(' ').flatMap((field) => {
    const label = labels(method).get(field);
    return label === undefined ? [] : [{ field, says: RESULT_SHEETS.readOtherwise(label) }];
  });
