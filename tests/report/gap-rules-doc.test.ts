import fs from 'node:fs';
import { GAP_CODES } from '../../src/design-history/gaps/gap-code.js';
import { withGapRules } from '../../src/report/phrases/gaps/rules-doc.js';

const text = fs.readFileSync('docs/design-history.md', 'utf8');

it('docs/design-history.md has the rules as they are (else: npm run docs)', () => {
  expect(withGapRules(text)).toBe(text);
  for (const code of GAP_CODES) expect(text).toContain(`| \`${code}\` |`);
  expect(() => withGapRules('no markers')).toThrow('needs a line "<!-- rules');
});
