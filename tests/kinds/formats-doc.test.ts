import fs from 'node:fs';
import { RESULT_COLUMNS } from '../../src/intake/results-file.js';
import { KINDS } from '../../src/kinds/catalogue.js';
import { formatsDocument, schemaOf } from '../../src/kinds/formats-doc.js';
import { jsonText } from '../../src/statistics/formulas-doc.js';

it('docs/formats.md is what the schemas say (else: npm run docs)', () => {
  expect(fs.readFileSync('docs/formats.md', 'utf8')).toBe(formatsDocument(KINDS, RESULT_COLUMNS));
});

it.each(KINDS.map((kind) => [kind.kind, kind] as const))('docs/schemas/%s.json is current', (name, kind) => {
  expect(fs.readFileSync(`docs/schemas/${name}.json`, 'utf8')).toBe(`${jsonText(schemaOf(kind))}\n`);
});
