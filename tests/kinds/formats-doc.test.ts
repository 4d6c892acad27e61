import fs from 'node:fs';
import { jsonText } from '../../src/calculations/formulas-doc.js';
import { KINDS } from '../../src/kinds/catalogue.js';
import { CODE_SYNTAX, Code } from '../../src/kinds/fields.js';
import { formatsDocument, schemaOf } from '../../src/kinds/formats-doc.js';
import { LotStep } from '../../src/kinds/lot-after-build.js';
import { RESULT_COLUMNS } from '../../src/kinds/result.js';
import { QUALIFIED_TO } from '../../src/people/acts.js';
import { kindText } from '../../src/report/phrases/kinds.js';

it('docs/formats.md is what the schemas say (else: npm run docs)', () => {
  expect(fs.readFileSync('docs/formats.md', 'utf8')).toBe(
    formatsDocument(KINDS, kindText, RESULT_COLUMNS, Object.values(QUALIFIED_TO)),
  );
});

describe('docs/formats.md', () => {
  const text = fs.readFileSync('docs/formats.md', 'utf8');

  it.each([
    ['characteristics[].decision', ['rule: simple', 'rule: guarded']],
    ['characteristics[].rounding', ['rule: absolute', 'rule: rounding']],
    [
      'characteristics[].plan',
      [
        'every-unit',
        'rule: zero-acceptance',
        'rule: single-sampling',
        'rule: variables',
        'rule: tolerance-interval',
        'rule: process-validation',
      ],
    ],
  ])('shows every variant of %s', (field, variants) => {
    const shown = [...text.matchAll(/^\| `([^`]+)` \| {2}\| (?:either|or) `([^`]+)`/gm)]
      .filter(([, name]) => name === field)
      .map(([, , variant]) => variant);
    expect(shown).toEqual(variants);
  });

  it('shows the fields of each variant below it, also those that another has too', () => {
    const [, zero, single] = /or `rule: zero-acceptance`([\s\S]*?)or `rule: single-sampling`([\s\S]*?)or `rule/.exec(
      text,
    )!;
    expect([...zero!.matchAll(/plan\.(\w+)`/g)].map(([, name]) => name)).toEqual(['confidence', 'reliability', 'of']);
    expect([...single!.matchAll(/plan\.(\w+)`/g)].map(([, name]) => name)).toEqual(['n', 'accept']);
    const [, receipt, state] = /either fields `receipt`([\s\S]*?)or fields `state`([\s\S]*?)yieldG/.exec(text)!;
    expect(receipt).toMatch(/`inputs\[\]\.receipt` \| yes[\s\S]*`inputs\[\]\.massG` \| yes/);
    expect(state).toMatch(/`inputs\[\]\.state` \| yes[\s\S]*`inputs\[\]\.massG` \| yes/);
  });

  it('names every qualification that is asked for, and says what an identifier is', () => {
    for (const name of [...LotStep.shape.step.options, ...Object.values(QUALIFIED_TO)]) {
      expect(/## Names of qualifications\n([\s\S]*?)\n##/.exec(text)![1]).toContain(`\`${name}\``);
    }
    expect(text).toContain(CODE_SYNTAX);
    const takes = (code: string) => Code.safeParse(code).success;
    expect(['M1-101', '0417', 'é', 'a.b_c', 'x'.repeat(60)].map(takes)).toEqual(Array(5).fill(true));
    expect(['-a', 'a-', '.', 'a b', 'a/b', 'x'.repeat(61), ''].map(takes)).toEqual(Array(7).fill(false));
  });
});

it.each(KINDS.map((kind) => [kind.kind, kind] as const))('docs/schemas/%s.json is current', (name, kind) => {
  expect(fs.readFileSync(`docs/schemas/${name}.json`, 'utf8')).toBe(
    `${jsonText(schemaOf(kind, kindText(kind.kind)))}\n`,
  );
});
