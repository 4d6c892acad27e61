import fs from 'node:fs';
import { GAP_CODES } from '../../src/design-history/gaps/gap-code.js';
import { REPORTING_TIMES } from '../../src/kinds/after-release/reporting-times.js';
import { TIES } from '../../src/kinds/ties.js';
import { withDesignTables } from '../../src/report/phrases/gaps/rules-doc.js';
import { withReportingTimes } from '../../src/report/phrases/reporting-times-doc.js';
import { withTieTable } from '../../src/report/phrases/ties-doc.js';

const rules = fs.readFileSync('docs/design-history.md', 'utf8');
const ties = fs.readFileSync('docs/trace.md', 'utf8');

it('docs/design-history.md has the rules as they are (else: npm run docs)', () => {
  expect(withDesignTables(rules)).toBe(rules);
  for (const code of GAP_CODES) expect(rules).toContain(`| \`${code}\` |`);
  expect(() => withDesignTables('no markers')).toThrow('needs a line "<!-- rules');
});

it('docs/trace.md has each tie once, with its sense and its ends (else: npm run docs)', () => {
  expect(withTieTable(ties)).toBe(ties);
  const rows = ties.split('\n').map((line) => line.split(' | '));
  for (const [name, { sense }] of Object.entries(TIES)) {
    expect(rows.filter(([said, tie]) => said === `| ${sense}` && tie === name)).toHaveLength(1);
  }
  expect(ties).toContain('| is about | touches lot |  | to what names it | to what is named, no further |');
});

it('docs/trace.md has each time to report, those of custom-made devices beside them, and says which stand from memory', () => {
  expect(withReportingTimes(ties)).toBe(ties);
  for (const { clause, what, source } of REPORTING_TIMES) {
    expect(ties).toMatch(new RegExp(`\\| ${escaped(clause)} \\| ${escaped(what)} \\| [^|]+ \\| ${source} \\|`));
  }
  expect(ties).toContain('| MDR Annex XIII, 5 |');
});

const escaped = (text: string): string => text.replaceAll(/[()]/g, '\\$&');
