import { z } from 'zod';
import { Code, Format, MethodRef, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, repeated, tie } from './kind.js';
import { ColumnName, LastLine, TIME_FORM, timeFormFaults } from './time-form.js';

/** What one column of an export says, beside the values. */
const MEANINGS = ['specimen', 'piece', 'replicate', 'measuredAt', 'startedAt', 'instrument', 'analyst'] as const;

const Table = z.strictObject({
  sheet: Text.optional().describe(
    'name of the sheet in which this table stands, where the export is a workbook (XLSX); the first one when absent',
  ),
  begins: z
    .string()
    .min(1)
    .max(200)
    .optional()
    .describe('the line above the head line with which this table begins, where the export holds several'),
  headerLines: whole(0, 1000).describe(
    'lines above the head line, counted from the beginning of the file or of the table',
  ),
  columns: z
    .array(z.strictObject({ column: ColumnName, is: z.enum(MEANINGS) }))
    .default([])
    .describe('columns that say of what, when and by whom; columns that are named nowhere are not looked at'),
  values: z
    .array(
      z.strictObject({
        column: ColumnName,
        characteristic: Code,
        ucum: Ucum.describe('unit in which the instrument writes it'),
        uncertainty: ColumnName.optional().describe('column of its standard uncertainty, in the same unit'),
      }),
    )
    .min(1)
    .describe('columns that hold values, one characteristic each'),
  constants: z
    .strictObject({
      instrument: Code.optional(),
      analyst: Code.optional(),
      method: MethodRef,
      replicate: z
        .literal('counted')
        .optional()
        .describe('counted: rows of one specimen are its replicates, in the order of the file; 1 when absent'),
    })
    .describe('what holds for every row'),
});

export const InstrumentProfile = z.strictObject({
  kind: z.literal('instrument-profile'),
  format: Format,
  profile: Code.describe('name of the folder below exports/ in which the files of this instrument lie'),
  revision: whole(1),
  title: Text,
  delimiter: z.enum(['comma', 'semicolon', 'tab', 'bar']),
  lastLine: LastLine,
  decimal: z.enum(['point', 'comma']),
  time: z.strictObject(TIME_FORM).describe('how it writes times'),
  tables: z.array(Table).min(1).describe('one table, or several: below each other, or on sheets of a workbook'),
});
export type InstrumentProfile = z.infer<typeof InstrumentProfile>;
export type ProfileTable = InstrumentProfile['tables'][number];

/** What each row has to say, in a column or for all of them. */
function tableFaults({ columns, values, constants }: ProfileTable, field: string): Contradiction[] {
  const said = new Set<string>(columns.map(({ is }) => is));
  const fault = (at: string, found: string, expected: string, remedy: string): Contradiction => ({
    ...{ field: `${field}.${at}`, found, expected, remedy },
  });
  return [
    ...repeated(
      columns.map(({ is }) => is),
      (index) => `${field}.columns[${index}].is`,
      'meaning',
    ),
    ...repeated(
      [...columns, ...values].map(({ column }) => column),
      (index) =>
        index < columns.length
          ? `${field}.columns[${index}].column`
          : `${field}.values[${index - columns.length}].column`,
      'column',
    ),
    ...repeated(
      values.map(({ characteristic }) => characteristic),
      (index) => `${field}.values[${index}].characteristic`,
      'characteristic',
    ),
    ...(['specimen', 'measuredAt'] as const)
      .filter((is) => !said.has(is))
      .map((is) => fault('columns', `no column that is ${is}`, `one that says ${is}`, 'name the column')),
    ...(['instrument', 'analyst'] as const).flatMap((name) => {
      const isBoth = said.has(name) && constants[name] !== undefined;
      const isNone = !said.has(name) && constants[name] === undefined;
      if (!isBoth && !isNone) return [];
      const found = isBoth ? `${name} in a column and for all rows` : `no ${name}`;
      return [fault(`constants.${name}`, found, `${name} in a column, or for all rows`, 'say it once')];
    }),
    ...(said.has('replicate') && constants.replicate !== undefined
      ? [fault('constants.replicate', 'counted beside a column', 'one of the two', 'remove one of them')]
      : []),
  ];
}

export const instrumentProfile = defineKind<InstrumentProfile>({
  kind: 'instrument-profile',
  numbering: 'document',
  purpose:
    'How the export of an instrument becomes results: its columns, units, decimal sign and times, and what holds for all rows.',
  schema: InstrumentProfile,
  key: (document) => document.profile,
  name: (document) => document.title,
  links: ({ tables }) =>
    tables.flatMap(({ constants: { method, instrument } }, index) => {
      const field = `tables[${index}].constants`;
      return [
        tie('by method', 'method', method.method, `${field}.method`, { revision: method.revision, aside: true }),
        ...(instrument === undefined
          ? []
          : [tie('maps', 'instrument', instrument, `${field}.instrument`, { aside: true })]),
      ];
    }),
  contradictions: ({ time, tables }) => [
    ...timeFormFaults(time, 'time'),
    ...repeated(
      tables.map(({ sheet = '', begins = '' }) => `${sheet} ${begins}`.trim()),
      (index) => `tables[${index}].begins`,
      'beginning',
    ),
    ...(tables.length > 1
      ? tables.flatMap(({ sheet, begins }, index) =>
          begins === undefined && tables.filter((other) => other.sheet === sheet).length > 1
            ? [
                {
                  field: `tables[${index}].begins`,
                  found: 'nothing, beside other tables of the sheet',
                  expected: 'the line with which this table begins',
                  remedy: 'write it as the export has it',
                },
              ]
            : [],
        )
      : []),
    ...tables.flatMap((table, index) => tableFaults(table, `tables[${index}]`)),
  ],
});
