import { GAP_RULES } from '../../../design-history/gaps/catalogue.js';
import { GAP_PHRASES } from './catalogue.js';

const BEGIN = '<!-- rules: written by npm run docs -->';
const END = '<!-- /rules -->';

/** The document on design histories with its table of rules made anew. @throws Error when the markers are not there. */
export function withGapRules(text: string): string {
  const [begin, end] = [text.indexOf(BEGIN), text.indexOf(END)];
  if (begin === -1 || end < begin)
    throw new Error(`docs/design-history.md needs a line "${BEGIN}" and after it "${END}"`);
  const rows = GAP_RULES.map(({ code, clause }) => {
    const { title, asks, remedy } = GAP_PHRASES[code];
    return [`\`${code}\``, title, asks, remedy, clause];
  });
  const lines = [['rule', 'gap', 'asks', 'ends when', 'clause'], ['---', '---', '---', '---', '---'], ...rows];
  const table = lines.map((cells) => `| ${cells.join(' | ')} |`).join('\n');
  return `${text.slice(0, begin)}${BEGIN}\n${table}\n${text.slice(end)}`;
}
