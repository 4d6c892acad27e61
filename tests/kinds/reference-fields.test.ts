import { stringify } from 'yaml';
import { readYaml } from '../../src/intake/yaml-document.js';
import { referencedAt } from '../../src/kinds/reference-fields.js';
import { makeCell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { addLoads } from '../support/documents/loads.js';
import { addMaterials } from '../support/documents/materials.js';
import { SITE_DOCUMENTS } from '../support/documents/site.js';

const cell = makeCell();
addMaterials(cell);
addLoads(cell);
addDesigns(cell);
const DOCUMENTS = Object.entries({ ...cell.documents, ...SITE_DOCUMENTS });

const valueAt = (document: unknown, path: string): unknown =>
  path
    .split(/[.[\]]+/)
    .filter((step) => step !== '')
    // biome-ignore lint/suspicious/noExplicitAny: whatever documents hold
    .reduce<any>((value, step) => value?.[step], document);

/** Ties name a place; where the code and its revision stand together there, the code is a field of it. */
function fieldOf(document: unknown, field: string, key: string): string | undefined {
  const value = valueAt(document, field);
  if (value === key) return field;
  if (typeof value !== 'object' || value === null) return undefined;
  const [name] = Object.entries(value).find(([, inner]) => inner === key) ?? [];
  return name && `${field}.${name}`;
}

it.each(DOCUMENTS)('knows of which kind each code of %s is that the document ties', (_, document) => {
  const { kind, body } = readYaml('a.yaml', Buffer.from(stringify(document))).document!;
  for (const link of kind.links(body)) {
    const field = fieldOf(body, link.field, link.key);
    // What a document brings into being is new there, and a key of two parts is no field.
    if (field === undefined || /\.(?:serial|coupon|build)$/.test(field) || link.kind === 'heat') continue;
    // The design of a case goes by the code of the case.
    if (link.kind === 'case-design') continue;
    const beside = valueAt(body, `${field.replace(/\.[^.]*$/, '')}.kind`);
    const found = referencedAt(kind.kind, field, beside as string | undefined);
    expect([field, found?.kinds]).toEqual([field, expect.arrayContaining([link.kind])]);
  }
});

it('offers no codes where one is new, or may be anything', () => {
  for (const [kind, path] of [
    ['receipt', 'receipt'],
    ['powder-state', 'state'],
    ['lot', 'implants[0].serial'],
    ['lot', 'builds[1].build'],
    ['receipt', 'material'],
    ['nonconformity', 'touches[0].key'],
  ] as const) {
    expect([path, referencedAt(kind, path, undefined)]).toEqual([path, undefined]);
  }
});

it('takes for parts of a lot those that the lot declares itself', () => {
  expect(referencedAt('lot', 'coupons[0].standsFor[1]', undefined)).toEqual({
    kinds: ['implant'],
    declaredIn: ['implants.serial'],
  });
  expect(referencedAt('lot', 'builds[0].machine', undefined)).toEqual({ kinds: ['machine'] });
});
