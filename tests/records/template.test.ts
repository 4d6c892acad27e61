import { BadInputError } from '../../src/base/errors.js';
import { parseTemplate, REQUIRED_CAUTIONS, SECTION_NAMES } from '../../src/report/record-template.js';
import { standardTemplateText } from '../../src/report/standard-template.js';

const text = standardTemplateText();

function problemsOf(changed: string) {
  try {
    parseTemplate(changed, 'lot-record.yaml');
  } catch (error) {
    if (error instanceof BadInputError) return error.problems;
    throw error;
  }
  throw new Error('the template was accepted');
}

it('has every caution and section', () => {
  const template = parseTemplate(text, 'lot-record.yaml');
  expect(Object.keys(template.cautions)).toEqual(expect.arrayContaining([...REQUIRED_CAUTIONS]));
  expect(template.sections.map(({ section }) => section).sort()).toEqual([...SECTION_NAMES].sort());
});

it('takes other words, another order and cautions of the house', () => {
  const changed = text
    .replace(/ {2}copies: .*\n/, '  copies: Paper copies are not controlled here.\n  lasers: Class 4 laser.\n')
    .replace('  - section: cautions\n    title: Cautions\n', '')
    .concat('  - section: cautions\n    title: Read this\n');
  const template = parseTemplate(changed, 'lot-record.yaml');
  expect(template.cautions.copies).toBe('Paper copies are not controlled here.');
  expect(template.cautions.lasers).toBe('Class 4 laser.');
  expect(template.sections.at(-1)).toEqual({ section: 'cautions', title: 'Read this' });
});

it.each(REQUIRED_CAUTIONS)('refuses a template without the caution "%s", naming the field', (name) => {
  const without = text.replace(new RegExp(`^ {2}${name}:(?: >-\\n(?: {4}.*\\n)+| .*\\n)`, 'm'), '');
  expect(without).not.toBe(text);
  expect(problemsOf(without)).toEqual([
    expect.objectContaining({
      code: 'caution-missing',
      file: 'lot-record.yaml',
      line: expect.any(Number),
      field: `cautions.${name}`,
    }),
  ]);
});

it('refuses a caution without words, on its line', () => {
  const changed = text.replace(/ {2}copies: .*\n/, "  copies: ' '\n");
  const line = changed.split('\n').indexOf("  copies: ' '") + 1;
  expect(problemsOf(changed)).toEqual([
    expect.objectContaining({ field: 'cautions.copies', line, expected: 'some words' }),
  ]);
});

it.each(SECTION_NAMES)('refuses a template without the section "%s"', (name) => {
  const without = text.replace(new RegExp(`^ {2}- section: ${name}\\n(?: {4}.*\\n)*(?: {6}.*\\n)*`, 'm'), '');
  expect(problemsOf(without)).toContainEqual(
    expect.objectContaining({ code: 'section-missing', found: `no section "${name}"` }),
  );
});

it.each([
  ['a section twice', `${text}  - section: identity\n    title: Again\n`, 'section-repeated'],
  [
    'a field that it does not know',
    text.replace('template: lot-record', 'template: lot-record\nlogo: x.png'),
    'unknown-field',
  ],
  ['a section that it does not know', text.replace('section: identity', 'section: advertising'), 'field'],
  ['a revision that is no number', text.replace('revision: 1', 'revision: one'), 'field'],
  ['the same field twice', text.replace('revision: 1', 'revision: 1\nrevision: 2'), 'duplicate-key'],
  ['text that is no YAML', 'kind: [', 'yaml'],
  ['nothing', '', 'empty'],
])('refuses %s', (_, changed, code) => {
  expect(problemsOf(changed)).toContainEqual(expect.objectContaining({ code, file: 'lot-record.yaml' }));
});
