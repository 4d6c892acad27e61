import fs from 'node:fs';
import path from 'node:path';
import { parse } from 'yaml';
import { asRead, changeForm, documentOf, fieldsOf, rowsOf, unknownIn } from '../../src/entry/typed-fields.js';
import { KINDS, kindNamed } from '../../src/kinds/catalogue.js';
import { formShape } from '../../src/kinds/form-shape.js';
import { fieldText } from '../../src/report/phrases/field-words.js';
import { VALID_DOCUMENTS } from '../kinds/valid-documents.js';
import { makeCell } from '../support/cell.js';
import { SITE_DOCUMENTS } from '../support/documents/site.js';

const CHANNEL_MAP = {
  kind: 'channel-map',
  format: 1,
  map: 'CM-2',
  revision: 1,
  title: 'invented logger',
  machine: 'M1',
  source: 'CSV logger',
  csv: {
    delimiter: 'semicolon',
    decimal: 'comma',
    headerLines: 1,
    columns: [{ column: 'O2 (ppm)', dataItem: 'o2' }],
    time: { columns: ['Datum', 'Zeit'], form: 'DD.MM.YYYY HH:mm:ss', zone: '+01:00' },
  },
  channels: [{ dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' }],
  place: { layer: 'layer', step: 'step' },
  steps: [{ reported: 'Hämmern', step: 'peen' }],
  everySequence: 'no',
};
const STARTER = parse(fs.readFileSync(path.resolve('templates', 'starters', 'program-version.yaml'), 'utf8'), {
  schema: 'core',
});

const EXAMPLES = [
  ...Object.values({ ...makeCell().documents, ...SITE_DOCUMENTS }),
  ...Object.entries(VALID_DOCUMENTS).map(([kind, body]) => ({ kind, format: '1', ...body })),
  CHANNEL_MAP,
  STARTER,
] as Record<string, unknown>[];
const formOf = (kind: string) => formShape(kindNamed(kind)!.schema);

it.each(KINDS.map(({ kind }) => kind))('gives a document of kind %s back as it went into its form', (kind) => {
  const documents = EXAMPLES.filter((document) => document.kind === kind);
  expect(documents.length).toBeGreaterThan(0);
  const form = formOf(kind);
  for (const document of documents) {
    const before = kindNamed(kind)!.schema.parse(document);
    const fields = fieldsOf(form, before);
    expect(kindNamed(kind)!.schema.parse(documentOf(form, fields))).toEqual(before);
    // What is whole is shown as it was typed, and has no field that its form does not know.
    expect(asRead(form, fields)).toEqual(fields);
    expect(unknownIn(form, fields)).toEqual([]);
  }
});

const receipt = formOf('receipt');

it.each([
  ['5000,5', '5000.5'],
  [' 12.50 ', '12.50'],
  ['−3,5', '-3.5'],
  // Two signs may be anything: they are shown back and asked for.
  ['1.234,5', '1.234,5'],
  ['1,234,5', '1,234,5'],
  ['about 5', 'about 5'],
])('reads the number %j as %j', (typed, read) => {
  expect(documentOf(receipt, { massG: typed }).massG).toBe(read);
});

it('reads a certified value with its sign, and leaves commas of texts alone', () => {
  const fields = {
    supplierLot: 'PL 7,5',
    'certificate.lines[0].value': '< 0,003',
    'certificate.lines[0].property': 'Fe',
  };
  expect(documentOf(receipt, fields)).toMatchObject({
    supplierLot: 'PL 7,5',
    certificate: { lines: [{ property: 'Fe', value: '< 0.003' }] },
  });
});

it('leaves out what is empty, rows and groups that hold nothing else too', () => {
  const fields = {
    massG: ' ',
    'heats[0]': '',
    'heats[1]': 'H-1',
    'heats[1]:row': '1',
    'certificate:open': '1',
    'certificate.number': '',
  };
  expect(documentOf(receipt, fields)).toEqual({ kind: 'receipt', format: '1', heats: ['H-1'] });
  expect(asRead(receipt, fields)).toEqual({ 'heats[0]': 'H-1', 'heats[0]:row': '1' });
});

it('adds a row, takes one away with all that stands in it, and moves those behind it up', () => {
  const begun = changeForm(
    changeForm({ 'certificate.lines[0].property': 'Fe' }, 'more:certificate.lines'),
    'more:heats',
  );
  expect(rowsOf(begun, 'certificate.lines')).toBe(2);
  expect(rowsOf(begun, 'heats')).toBe(1);
  const typed = { ...begun, 'certificate.lines[1].property': 'Ca', 'certificate.lines[1].value': '0.4' };
  const left = changeForm(typed, 'less:certificate.lines[0]');
  expect(rowsOf(left, 'certificate.lines')).toBe(1);
  expect(left).toMatchObject({ 'certificate.lines[0].property': 'Ca', 'certificate.lines[0].value': '0.4' });
  expect(changeForm(left, 'shut:certificate')).toEqual({ 'heats[0]:row': '1' });
});

it.each(['', 'less:', 'less:heats', 'more', 'open', 'shut:nowhere', 'less:heats[x]', '__proto__:a'])(
  'keeps what was typed at the button %j',
  (action) => {
    expect(changeForm({ receipt: 'R-1' }, action)).toMatchObject({ receipt: 'R-1' });
  },
);

it('knows a field of another shape, another kind or of yesterday for none of this form', () => {
  const powder = formOf('powder-state');
  const fields = { 'inputs[0]:shape': 'receipt+massG', 'inputs[0].receipt': 'R-1', 'inputs[0].state': 'PS-1' };
  expect(unknownIn(powder, { ...fields, colour: 'red', 'inputs.receipt': 'x', empty: ' ' })).toEqual([
    'inputs[0].state',
    'colour',
    'inputs.receipt',
  ]);
});

it.each([
  ['massG', 'Mass', 'g'],
  ['densityGPerCm3', 'Density', 'g/cm³'],
  ['joinBreaksWithinS', 'Join breaks within', 's'],
  ['imageAgeDays', 'Image age', 'days'],
  ['pH', 'pH', undefined],
  ['riskFile', 'Risk file', undefined],
])('calls the field %s what people call it', (name, label, unit) => {
  expect(fieldText(name)).toEqual(unit === undefined ? { label } : { label, unit });
});
