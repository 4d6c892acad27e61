import { z } from 'zod';
import { Code, Format, PositiveDecimal, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, repeated } from './kind.js';
import { ColumnName, LastLine } from './time-form.js';

/** By what a row of the file is known to be of a receipt. */
const IDENTITIES = ['certificate', 'heat', 'supplier lot'] as const;
const UNIT_PLACES = ['in the names of the columns', 'in the line below the head line'] as const;
const ROW_PATH = /^(?:\/[\p{L}_][\p{L}\p{N}_.-]*){2,10}$/u;
/** From the row, or with a slash in front from the root: elements, and an attribute last. */
const COLUMN_PATH = /^(?:@?[\p{L}_][\p{L}\p{N}_.-]*|\/?(?:[\p{L}_][\p{L}\p{N}_.-]*\/)*@?[\p{L}_][\p{L}\p{N}_.-]*|\.)$/u;

export const CertificateProfile = z.strictObject({
  kind: z.literal('certificate-profile'),
  format: Format,
  profile: Code,
  revision: whole(1),
  title: Text,
  csv: z
    .strictObject({
      delimiter: z.enum(['comma', 'semicolon', 'tab', 'bar']),
      headerLines: whole(0, 1000).describe('lines above the head line'),
      lastLine: LastLine,
    })
    .optional()
    .describe('the file is a text'),
  xml: z
    .strictObject({
      namespace: Text.optional().describe('of all elements that are read; none when absent'),
      row: z
        .string()
        .regex(ROW_PATH, { error: 'the path of an element from the root, such as /Certificate/Analysis/Element' })
        .describe('path of the element that holds one value, from the root'),
    })
    .optional()
    .describe(
      'the file is XML; columns are then paths: from the row (Value, Value/@unit, @symbol, or a point for its own text), or with a slash in front from the root',
    ),
  decimal: z.enum(['point', 'comma']),
  identity: z
    .array(z.strictObject({ column: ColumnName, is: z.enum(IDENTITIES) }))
    .min(1)
    .describe('columns by which a row is of this receipt; rows of others are passed by'),
  columns: z
    .strictObject({
      property: ColumnName,
      value: ColumnName,
      unit: ColumnName,
      uncertainty: ColumnName.optional(),
      coverageFactor: ColumnName.optional(),
      detectionLimit: ColumnName.optional(),
      method: ColumnName.optional(),
    })
    .optional()
    .describe('each row, or element, holds one value: the columns that are read; others are not looked at'),
  propertyColumns: z
    .strictObject({
      units: z
        .enum(UNIT_PLACES)
        .describe('where the file says its units: as a part of the names of the columns, or below each of them'),
      uncertainties: z
        .array(z.strictObject({ of: Text.describe('the property, as the file names it'), column: ColumnName }))
        .optional(),
      coverageFactor: ColumnName.optional(),
      method: ColumnName.optional(),
      passedBy: z
        .array(ColumnName)
        .optional()
        .describe('columns that are not looked at; any other that this profile does not name is refused'),
    })
    .optional()
    .describe(
      'each row of a text holds the values of one certificate, heat or lot, one property a column: properties are named as the head line names their columns',
    ),
  uncertainty: z
    .strictObject({
      is: z.enum(['standard', 'expanded']),
      coverageFactor: PositiveDecimal.optional().describe('of all rows, where no column says it'),
    })
    .optional()
    .describe('what the column of the uncertainty says'),
  properties: z
    .array(
      z.strictObject({
        name: Text.describe('as the file names it'),
        property: Code,
        unit: Text.optional().describe(
          'as the file writes it; a value with another one is refused. Left out where units stand in the names of the columns',
        ),
        ucum: Ucum.describe('the same unit by UCUM'),
        need: z.enum(['always', 'may be left out']),
      }),
    )
    .min(1)
    .describe('every property that such a file may hold; any other is refused'),
});
export type CertificateProfile = z.infer<typeof CertificateProfile>;

const FAULT = (field: string, found: string, expected: string, remedy: string): Contradiction => ({
  ...{ field, found, expected, remedy },
});

function uncertaintyFaults({ columns, propertyColumns, uncertainty }: CertificateProfile): Contradiction[] {
  const remedy = 'say it once, or leave both out';
  const hasColumn = columns?.uncertainty !== undefined || (propertyColumns?.uncertainties?.length ?? 0) > 0;
  if (hasColumn !== (uncertainty !== undefined)) {
    const found = hasColumn ? 'nothing, beside a column of uncertainties' : 'a word on uncertainties without a column';
    return [FAULT('uncertainty', found, 'a column, and what it says', remedy)];
  }
  const isExpanded = uncertainty?.is === 'expanded';
  const factors = [columns?.coverageFactor, propertyColumns?.coverageFactor, uncertainty?.coverageFactor];
  const said = factors.filter((one) => one !== undefined).length;
  if (said === (isExpanded ? 1 : 0)) return [];
  const expected = isExpanded ? 'one coverage factor: of a column, or of all rows' : 'none: it is no expanded one';
  return [FAULT('uncertainty.coverageFactor', `${said} coverage factors`, expected, remedy)];
}

/** Of a row each column says one thing, and each property has its column. */
function layoutFaults({ columns, propertyColumns, xml, identity, properties }: CertificateProfile): Contradiction[] {
  if ((columns === undefined) === (propertyColumns === undefined)) {
    const found = columns ? 'columns and propertyColumns' : 'neither columns nor propertyColumns';
    return [FAULT('columns', found, 'one of the two', 'say whether a row holds one value, or one property a column')];
  }
  const needsUnit = propertyColumns?.units !== 'in the names of the columns';
  const units = properties.flatMap(({ name, unit }, index) => {
    if (needsUnit === (unit !== undefined)) return [];
    const expected = needsUnit ? `the unit of ${name} as the file writes it` : 'none: the name of the column says it';
    return [FAULT(`properties[${index}].unit`, unit ?? 'nothing', expected, 'correct it')];
  });
  if (propertyColumns === undefined) return units;
  const { uncertainties = [], coverageFactor, method, passedBy = [] } = propertyColumns;
  const of = 'propertyColumns';
  const named = [
    ...identity.map(({ column }, index) => [column, `identity[${index}].column`] as const),
    ...properties.map(({ name }, index) => [name, `properties[${index}].name`] as const),
    ...uncertainties.map(({ column }, index) => [column, `${of}.uncertainties[${index}].column`] as const),
    ...(coverageFactor === undefined ? [] : [[coverageFactor, `${of}.coverageFactor`] as const]),
    ...(method === undefined ? [] : [[method, `${of}.method`] as const]),
    ...passedBy.map((column, index) => [column, `${of}.passedBy[${index}]`] as const),
  ];
  return [
    ...units,
    ...(xml ? [FAULT(of, 'one property a column, of XML', 'columns, which are paths', 'give the paths')] : []),
    ...repeated(
      named.map(([column]) => column),
      (index) => named[index]![1],
      'column',
    ),
    ...repeated(
      uncertainties.map((one) => one.of),
      (index) => `${of}.uncertainties[${index}].of`,
      'property',
    ),
    ...uncertainties.flatMap((one, index) =>
      properties.some(({ name }) => name === one.of)
        ? []
        : [FAULT(`${of}.uncertainties[${index}].of`, one.of, 'a property of this profile, by its name', 'correct it')],
    ),
  ];
}

function sourceFaults({ csv, xml, columns, identity }: CertificateProfile): Contradiction[] {
  const remedy = 'say which of the two the file is';
  if ((csv === undefined) === (xml === undefined)) {
    return [{ field: 'csv', found: csv ? 'csv and xml' : 'neither csv nor xml', expected: 'one of the two', remedy }];
  }
  if (xml === undefined) return [];
  const paths = [
    ...Object.entries(columns ?? {}).flatMap(([name, path]) =>
      path === undefined ? [] : [[`columns.${name}`, path] as const],
    ),
    ...identity.map(({ column }, index) => [`identity[${index}].column`, column] as const),
  ];
  return paths
    .filter(([, path]) => !COLUMN_PATH.test(path))
    .map(([field, found]) => ({
      ...{ field, found, expected: 'a path such as Value, Value/@unit, @symbol or /Certificate/Number' },
      remedy: 'correct the path',
    }));
}

export const certificateProfile = defineKind<CertificateProfile>({
  kind: 'certificate-profile',
  numbering: 'document',
  purpose:
    'How a material certificate that comes as CSV or XML becomes lines of a receipt: its columns, names and units.',
  schema: CertificateProfile,
  key: (document) => document.profile,
  name: (document) => document.title,
  contradictions: (document) => [
    ...sourceFaults(document),
    ...layoutFaults(document),
    ...uncertaintyFaults(document),
    ...repeated(
      document.properties.map(({ name }) => name),
      (index) => `properties[${index}].name`,
      'name',
    ),
    ...repeated(
      document.properties.map(({ property }) => property),
      (index) => `properties[${index}].property`,
      'property',
    ),
    ...repeated(
      document.identity.map(({ is }) => is),
      (index) => `identity[${index}].is`,
      'meaning',
    ),
  ],
});
