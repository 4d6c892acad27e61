import { z } from 'zod';
import { Code, Format, PositiveDecimal, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, repeated } from './kind.js';
import { ColumnName } from './time-form.js';

/** By what a row of the file is known to be of a receipt. */
const IDENTITIES = ['certificate', 'heat', 'supplier lot'] as const;
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
    })
    .optional()
    .describe('the file is a text of which each row holds one value'),
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
    .describe('columns that are read; others are not looked at'),
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
        unit: Text.describe('as the file writes it; a row with another one is refused'),
        ucum: Ucum.describe('the same unit by UCUM'),
        need: z.enum(['always', 'may be left out']),
      }),
    )
    .min(1)
    .describe('every property that such a file may hold; a row of any other is refused'),
});
export type CertificateProfile = z.infer<typeof CertificateProfile>;

function uncertaintyFaults({ columns, uncertainty }: CertificateProfile): Contradiction[] {
  const fault = (field: string, found: string, expected: string): Contradiction => ({
    ...{ field, found, expected, remedy: 'say it once, or leave both out' },
  });
  const hasColumn = columns.uncertainty !== undefined;
  if (hasColumn !== (uncertainty !== undefined)) {
    const found = hasColumn ? 'nothing, beside a column of uncertainties' : 'a word on uncertainties without a column';
    return [fault('uncertainty', found, 'a column, and what it says')];
  }
  const isExpanded = uncertainty?.is === 'expanded';
  const said = [columns.coverageFactor, uncertainty?.coverageFactor].filter((one) => one !== undefined).length;
  if (said === (isExpanded ? 1 : 0)) return [];
  const expected = isExpanded ? 'one coverage factor: of a column, or of all rows' : 'none: it is no expanded one';
  return [fault('uncertainty.coverageFactor', `${said} coverage factors`, expected)];
}

function sourceFaults({ csv, xml, columns, identity }: CertificateProfile): Contradiction[] {
  const remedy = 'say which of the two the file is';
  if ((csv === undefined) === (xml === undefined)) {
    return [{ field: 'csv', found: csv ? 'csv and xml' : 'neither csv nor xml', expected: 'one of the two', remedy }];
  }
  if (xml === undefined) return [];
  const paths = [
    ...Object.entries(columns).flatMap(([name, path]) =>
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
