import { withTable } from '../../../base/written-table.js';
import { GAP_RULES } from '../../../design-history/gaps/catalogue.js';
import { GAP_PHRASES } from './catalogue.js';

/** The document on design histories with its table of rules made anew. @throws Error when the marks are not there. */
export function withGapRules(text: string): string {
  const rows = GAP_RULES.map(({ code, clause }) => {
    const { title, asks, remedy } = GAP_PHRASES[code];
    return [`\`${code}\``, title, asks, remedy, clause];
  });
  const heads = ['rule', 'gap', 'asks', 'ends when', 'clause'];
  return withTable(text, { file: 'docs/design-history.md', mark: 'rules', rows: [heads, ...rows] });
}
