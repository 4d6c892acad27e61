import fc from 'fast-check';
import { stringify } from 'yaml';
import type { JsonSchema } from '../../src/base/json-schema.js';
import { readYaml } from '../../src/intake/yaml-document.js';
import { anyKindNamed, KINDS, kindNamed } from '../../src/kinds/catalogue.js';
import { isPatientField } from '../../src/kinds/fields.js';
import { schemaOf as jsonSchemaOf } from '../../src/kinds/formats-doc.js';
import { TIES } from '../../src/kinds/ties.js';
import type { Cell } from '../support/cell.js';
import { makeCell } from '../support/cell.js';
import { SITE_DOCUMENTS } from '../support/documents/site.js';
import { CASE_SPOILT, TIMES_SPOILT } from '../support/documents/spoilt-cases.js';
import { DESIGN_SPOILT } from '../support/documents/spoilt-design.js';
import { AFTER_RELEASE_SPOILT, DEGRADATION_SPOILT, TREND_SPOILT } from '../support/documents/spoilt-units.js';

type Document = Cell['documents'][string];

const read = (document: Document) => readYaml('a.yaml', Buffer.from(stringify(document)));
const BY_KIND = new Map(
  Object.values({ ...makeCell().documents, ...SITE_DOCUMENTS }).map((document) => [String(document.kind), document]),
);

it.each(Object.entries(SITE_DOCUMENTS))('takes %s for what it is', (_, document) => {
  const { document: taken, problems } = read(document);
  expect(problems).toEqual([]);
  const kind = kindNamed(document.kind)!;
  expect(kind.name(taken!.body).length).toBeGreaterThan(3);
  expect(kind.key(taken!.body)).toMatch(/^[\p{L}\p{N}][\p{L}\p{N}._:-]*$/u);
});

const SPOILT = [
  ...TIMES_SPOILT,
  ...CASE_SPOILT,
  ...DEGRADATION_SPOILT,
  ...AFTER_RELEASE_SPOILT,
  ...TREND_SPOILT,
  ...DESIGN_SPOILT,
];

it.each(SPOILT)('refuses $kind: $what', ({ kind, spoil, field }) => {
  const document = structuredClone(BY_KIND.get(kind)!);
  spoil(document);
  const { problems } = read(document);
  expect(problems).toContainEqual(expect.objectContaining({ code: 'contradiction', field }));
  for (const { found, expected, remedy } of problems) {
    for (const text of [found, expected, remedy]) expect(text).toMatch(/\S/);
  }
});

const lineOf = (receipt: Document) => receipt.certificate.lines[0];
it.each<[what: string, kind: string, field: string, (document: Document) => void]>([
  ['a negative mass of powder', 'powder-state', 'inputs[0].massG', (d) => (d.inputs[0].massG = '-1')],
  ['a mass of nothing', 'powder-state', 'inputs[0].massG', (d) => (d.inputs[0].massG = '0')],
  ['a negative mass of a receipt', 'receipt', 'massG', (d) => (d.massG = '-8000')],
  ['a negative charge', 'lot', 'builds[0].powder[0].chargedG', (d) => (d.builds[0].powder[0].chargedG = '-180')],
  ['a negative waste', 'lot', 'builds[0].powder[0].wasteG', (d) => (d.builds[0].powder[0].wasteG = '-1')],
  ['an index to be shown that everything reaches', 'capability-plan', 'target', (d) => (d.target = '0')],
  ['a certified value without a unit', 'receipt', 'certificate.lines[0].ucum', (d) => delete lineOf(d).ucum],
])('refuses %s, and says where', (_, kind, field, spoil) => {
  const document = structuredClone(BY_KIND.get(kind)!);
  spoil(document);
  const { problems } = read(document);
  expect(problems.map((problem) => problem.field)).toEqual([field]);
  for (const text of [problems[0]!.found, problems[0]!.expected, problems[0]!.remedy]) expect(text).toMatch(/\S/);
});

/** A default would give a document that was signed yesterday another digest. */
it.each(Object.entries(SITE_DOCUMENTS))('adds nothing to %s that it does not say', (_, document) => {
  const fieldsOf = (value: unknown, path = ''): string[] =>
    value !== null && typeof value === 'object'
      ? Object.entries(value).flatMap(([name, inner]) => [`${path}${name}`, ...fieldsOf(inner, `${path}${name}.`)])
      : [];
  expect(fieldsOf(read(document).document!.body).sort()).toEqual(fieldsOf(document).sort());
});

/** Every name of a field, at any depth. */
function namesIn(schema: JsonSchema): string[] {
  const inner = [
    ...Object.values(schema.properties ?? {}),
    schema.items,
    ...(schema.anyOf ?? []),
    ...(schema.oneOf ?? []),
  ];
  return [
    ...Object.keys(schema.properties ?? {}),
    ...inner.flatMap((item) => (item === undefined ? [] : namesIn(item))),
  ];
}

it.each(KINDS.map((kind) => [kind.kind, kind] as const))(
  '%s asks for nothing that says who a patient is',
  (_, kind) => {
    const names = namesIn(jsonSchemaOf(kind, kind.kind) as JsonSchema);
    expect(names.length).toBeGreaterThan(3);
    expect(names.filter(isPatientField)).toEqual([]);
  },
);

it('refuses a field that says who a patient is in every document of a case', () => {
  const ofCases = KINDS.filter((kind) => kind.caseOf !== undefined).map(({ kind }) => kind);
  expect(ofCases).toEqual(['case', 'imaging-set', 'case-design', 'design-acceptance', 'support-window']);
  for (const kind of ofCases) {
    const { problems } = read({ ...BY_KIND.get(kind)!, patientName: 'Somebody' });
    expect(problems).toMatchObject([{ code: 'patient-field', field: 'patientName' }]);
    expect(kindNamed(kind)!.caseOf!(anyKindNamed(kind)!.schema.parse(BY_KIND.get(kind)))).toMatch(/^K-101-[12]$/);
  }
});

it('finds every document of a case by the code of the case: its own, or that of one to which it is tied', () => {
  for (const kind of KINDS.filter(({ caseOf }) => caseOf !== undefined)) {
    const document = kind.schema.parse(BY_KIND.get(kind.kind));
    const code = kind.caseOf!(document);
    const tied = kind.links(document).some((link) => kindNamed(link.kind)?.caseOf && link.key === code);
    expect([kind.kind, kind.key(document) === code || tied]).toEqual([kind.kind, true]);
  }
});

it.each(Object.entries(SITE_DOCUMENTS))('says where in %s each of its references stands', (_, document) => {
  const kind = kindNamed(document.kind)!;
  const { body } = read(document).document!;
  for (const { name, field, key } of kind.links(body)) {
    expect(TIES).toHaveProperty([name]);
    const steps = field.split(/[.[\]]+/).filter(Boolean);
    const value = steps.reduce<unknown>((inner, step) => (inner as Document)[step], body);
    expect(JSON.stringify(value)).toContain(key);
  }
});

it('ties documents only by names and to kinds that somebody knows', () => {
  const ties = [...BY_KIND.values()].flatMap((document) =>
    kindNamed(document.kind)!.links(read(document).document!.body),
  );
  expect(ties.length).toBeGreaterThan(100);
  expect([...new Set(ties.map(({ kind }) => kind).filter((kind) => anyKindNamed(kind) === undefined))]).toEqual([]);
});

it.each([
  ['test-medium', 'pH.max', (document: Document) => Object.assign(document.pH, { max: '14.1' })],
  ['exposure', 'pH.start', (document: Document) => Object.assign(document.pH, { start: '-0.1' })],
  ['exposure', 'temperatureC', (document: Document) => Object.assign(document, { temperatureC: '-273.15' })],
  ['exposure', 'areaCm2', (document: Document) => Object.assign(document, { areaCm2: '0' })],
  ['exposure', 'massG.before', (document: Document) => Object.assign(document.massG, { before: '-1' })],
  ['recall', 'drill', (document: Document) => Object.assign(document, { drill: undefined })],
  [
    'support-window',
    'zones[0].strengthLeft',
    (document: Document) => Object.assign(document.zones[0], { strengthLeft: '1.1' }),
  ],
  ['route-permission', 'law', (document: Document) => Object.assign(document, { law: 'eu' })],
  ['design-acceptance', 'model', (document: Document) => Object.assign(document, { model: 'ABCD' })],
] as const)('asks %s for a possible %s', (kind, field, spoil) => {
  const document = structuredClone(BY_KIND.get(kind)!);
  spoil(document);
  const { problems } = read(document);
  expect(problems).toContainEqual(
    expect.objectContaining({ code: expect.stringMatching(/^(missing-)?field$/), field }),
  );
});

it('gives no two exposures of one specimen the same key', () => {
  const { key } = kindNamed('exposure')!;
  const base = BY_KIND.get('exposure')!;
  const keys = [
    { specimen: 'A', piece: 'B', exposure: '1' },
    { specimen: 'A', piece: undefined, exposure: '1' },
    { specimen: 'A.B', piece: undefined, exposure: '1' },
    { specimen: 'A', piece: 'B.1', exposure: '1' },
  ].map((fields) => key({ ...base, ...fields }));
  expect(keys).toEqual(['A:B:1', 'A:1', 'A.B:1', 'A:B.1:1']);
});

it('lets cleaning only take away, and lets what has grown weigh what it likes', () => {
  const { schema, contradictions } = kindNamed('exposure')!;
  const micrograms = fc.integer({ min: 1, max: 2_000_000 });
  const grams = (count: number) => `${Math.floor(count / 1_000_000)}.${String(count % 1_000_000).padStart(6, '0')}`;
  fc.assert(
    fc.property(micrograms, micrograms, micrograms, (before, after, cleaned) => {
      const massG = { before: grams(before), after: grams(after), afterCleaning: grams(cleaned) };
      const faults = contradictions(schema.parse({ ...BY_KIND.get('exposure')!, massG }));
      expect(faults.map(({ field }) => field)).toEqual(
        [cleaned > before, cleaned > after].filter(Boolean).map(() => 'massG.afterCleaning'),
      );
    }),
    { seed: 14 },
  );
});
