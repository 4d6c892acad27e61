/** A table in a document of people that is made from the code. */
export interface WrittenTable {
  /** The document that needs the marks, as an error names it. */
  readonly file: string;
  /** Word of the marks: `<!-- ties: written by npm run docs -->` and `<!-- /ties -->`. */
  readonly mark: string;
  /** Cells of each row; the first row has the heads. */
  readonly rows: readonly (readonly string[])[];
  /** What follows the table before the end. */
  readonly after?: string;
}

/** A text with its table made anew between the marks. @throws Error when the marks are not there. */
export function withTable(text: string, { file, mark, rows, after = '' }: WrittenTable): string {
  const [first, last] = [`<!-- ${mark}: written by npm run docs -->`, `<!-- /${mark} -->`];
  const [begin, end] = [text.indexOf(first), text.indexOf(last)];
  if (begin === -1 || end < begin) throw new Error(`${file} needs a line "${first}" and after it "${last}"`);
  const [heads = [], ...others] = rows;
  const lines = [heads, heads.map(() => '---'), ...others].map(rowText);
  return `${text.slice(0, begin)}${first}\n${lines.join('\n')}\n${after}${text.slice(end)}`;
}

const rowText = (cells: readonly string[]): string =>
  `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
