import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { Supplier } from '../../src/kinds/supplier.js';
import { bodyOf } from '../../src/store/bodies.js';

const supplier: Supplier = { kind: 'supplier', format: 1, supplier: 'S-1', title: 'Invented Metals', approvals: [] };
const text = canonicalJson(supplier);

describe('a stored body', () => {
  it('is read by the schema of its kind, once, and cannot be changed by whoever got it', () => {
    const body = bodyOf('supplier', sha256Hex(text), text);
    expect(body).toEqual(supplier);
    expect(bodyOf('supplier', sha256Hex(text), text)).toBe(body);
    expect(() => Object.assign(body, { title: 'other' })).toThrow(TypeError);
  });

  it.each([
    ['no JSON', text.slice(1)],
    ['a title that is a number', canonicalJson({ ...supplier, title: 7 })],
    ['a document of another kind', canonicalJson({ ...supplier, kind: 'machine' })],
  ])('that is %s is refused', (_what, other) => {
    expect(() => bodyOf('supplier', sha256Hex(other), other)).toThrow(
      expect.objectContaining({ code: 'ALTERED', message: expect.stringContaining('run ledger verify') }),
    );
  });

  it('of which only a later version knows a field is named, and not called altered', () => {
    const later = canonicalJson({ ...supplier, country: 'Nowhere' });
    expect(() => bodyOf('supplier', sha256Hex(later), later)).toThrow(
      expect.objectContaining({ code: 'LATER_FORM', message: expect.stringContaining('the field "country"') }),
    );
  });
});

/** Files that say of what was read by a schema, or of what they stored themselves, what it is. */
const BORDER = ['kinds/formats.ts', 'store/bodies.ts', 'store/assemble-dossier.ts', 'intake/known.ts'];

it('gets its type nowhere but at the border', () => {
  const sources = path.join(PROGRAM_ROOT, 'src');
  const files = fs.readdirSync(sources, { recursive: true, encoding: 'utf8' }).filter((file) => file.endsWith('.ts'));
  const cast = /\b(?:body|fresh|found|document)\)? as (?:[A-Z]\w*|\{)/;
  const casting = files.filter(
    (file) =>
      !file.includes('generated') &&
      fs
        .readFileSync(path.join(sources, file), 'utf8')
        .split('\n')
        .some((line) => cast.test(line)),
  );
  expect(casting.filter((file) => file !== 'people/access-guard.ts').sort()).toEqual([...BORDER].sort());
});
