/**
 * Gives each cell of a table the head of its column, for narrow windows, where a row becomes a block of labelled lines.
 * The head says it once, so no template repeats it.
 * @param html of a page of ours: tables do not lie within tables, and each cell is closed.
 */
export const labelCells = (html: string): string => html.replaceAll(/<table[\s>][\s\S]*?<\/table>/g, labelTable);

function labelTable(table: string): string {
  const head = /<thead>([\s\S]*?)<\/thead>/.exec(table)?.[1];
  if (head === undefined) return table;
  const heads = [...head.matchAll(/<th[^>]*>([\s\S]*?)<\/th>/g)].map(([, text]) => plain(text!));
  const at = table.indexOf('</thead>');
  const body = table.slice(at).replaceAll(/<tr[\s>][\s\S]*?<\/tr>/g, (row) => {
    let column = 0;
    return row.replaceAll(/<(t[dh])((?:\s[^>]*)?)>/g, (start, name: string, rest: string) => {
      const label = heads[column] ?? '';
      column += 1;
      return name === 'th' || label === '' ? start : `<td${rest} data-label="${label}">`;
    });
  });
  return table.slice(0, at) + body;
}

/** The text of a head without what is told in smaller letters below it. It was escaped when it was written. */
const plain = (html: string): string =>
  html
    .replaceAll(/<span class="limits">[\s\S]*?<\/span>/g, '')
    .replaceAll(/<[^>]*>/g, '')
    .replaceAll(/\s+/g, ' ')
    .trim()
    .replaceAll('"', '&quot;');
