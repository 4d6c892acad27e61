import fs from 'node:fs';
import path from 'node:path';
import { parse } from 'yaml';
import type { JsonSchema } from '../../src/base/json-schema.js';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { KINDS } from '../../src/kinds/catalogue.js';
import { schemaOf } from '../../src/kinds/formats-doc.js';
import { starterText } from '../../src/kinds/starters.js';
import { kindText } from '../../src/report/phrases/kinds.js';

const fileOf = (kind: string) => path.join(PROGRAM_ROOT, 'templates', 'starters', `${kind}.yaml`);
const starterOf = (kind: string) => fs.readFileSync(fileOf(kind), 'utf8');
const read = (text: string) => parse(text, { schema: 'failsafe' }) as unknown;

/** With every field that is commented out. */
const whole = (text: string) => text.replace(/^(\s*)#(?=[\w-])/gm, '$1');

/** Names of all fields of a schema, by the JSON Schema that is given out. */
function namesIn(schema: unknown, found = new Set<string>()): Set<string> {
  if (Array.isArray(schema)) for (const one of schema) namesIn(one, found);
  else if (typeof schema === 'object' && schema !== null) {
    const { properties, ...rest } = schema as JsonSchema & { properties?: Record<string, unknown> };
    for (const [name, inner] of Object.entries(properties ?? {})) {
      found.add(name);
      namesIn(inner, found);
    }
    for (const inner of Object.values(rest)) namesIn(inner, found);
  }
  return found;
}

describe.each(KINDS.map((kind) => [kind.kind, kind] as const))('the starter of %s', (name, kind) => {
  const text = starterOf(name);

  it('is read by its schema, as it stands and with all that may be left out', () => {
    for (const written of [text, whole(text)]) {
      const { error } = kind.schema.safeParse(read(written));
      expect(error?.issues.map(({ path: at, message }) => `${at.join('.')}: ${message}`) ?? []).toEqual([]);
    }
  });

  it('names every field of its kind', () => {
    const missing = [...namesIn(schemaOf(kind, name))].filter((field) => !new RegExp(`\\b${field}\\b`).test(text));
    expect(missing).toEqual([]);
  });
});

it.each(KINDS.filter(({ kind }) => kind !== 'program-version').map((kind) => [kind.kind, kind] as const))(
  'the starter of %s is what its schema says',
  (name, kind) => expect(starterOf(name)).toBe(starterText(kind, kindText(name))),
);

it('leaves no starter of a kind that is gone', () => {
  const files = fs.readdirSync(path.dirname(fileOf('lot'))).filter((name) => name.endsWith('.yaml'));
  expect(files.sort()).toEqual(KINDS.map(({ kind }) => `${kind}.yaml`).sort());
});
