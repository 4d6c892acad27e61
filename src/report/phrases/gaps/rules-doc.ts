import { withTable } from '../../../base/written-table.js';
import { GAP_RULES } from '../../../design-history/gaps/catalogue.js';
import { CLAUSES } from '../design-clauses.js';
import { GAP_PHRASES } from './catalogue.js';

/** The document on design histories with its tables made anew. @throws Error when the marks are not there. */
export const withDesignTables = (text: string): string => withClauses(withGapRules(text));

function withGapRules(text: string): string {
  const rows = GAP_RULES.map(({ code, clause }) => {
    const { title, asks, remedy } = GAP_PHRASES[code];
    return [`\`${code}\``, title, asks, remedy, clause];
  });
  const heads = ['rule', 'gap', 'asks', 'ends when', 'clause'];
  return withTable(text, { file: 'docs/design-history.md', mark: 'rules', rows: [heads, ...rows] });
}

function withClauses(text: string): string {
  const rows = CLAUSES.map(({ clause, title, asks, mark }) => [clause, title, asks, mark]);
  const heads = ['clause', 'about', 'asks for', 'known'];
  return withTable(text, { file: 'docs/design-history.md', mark: 'clauses', rows: [heads, ...rows] });
}
