import { BadInputError, type Problem } from '../base/errors.js';
import { readStrictXml } from '../base/strict-xml.js';
import { utf8Text } from '../base/utf8.js';
import type { CertificateProfile } from '../kinds/certificate-profile.js';
import { splitCsvLine } from '../process-logs/csv-line.js';

/** One row of a certificate: a line of a text, or an element. */
export interface CertificateRow {
  readonly line: number;
  /** What it says in a column; undefined where an element is not there. */
  cell(column: string): string | undefined;
}

/** The rows of a certificate, and the line that says what they hold. */
interface CertificateRows {
  readonly headLine: number;
  readonly rows: readonly CertificateRow[];
}

const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const;
const REMEDY = 'ask the supplier for the certificate as it always was, or correct the profile; nothing is guessed';

/** @throws BadInputError with the line of what is no such file. */
export function rowsOf(file: string, bytes: Uint8Array, profile: CertificateProfile): CertificateRows {
  return profile.xml === undefined ? rowsOfText(file, bytes, profile) : rowsOfXml(file, bytes, profile.xml);
}

/** Every column that a profile reads. */
const columnsOf = ({ columns, identity }: CertificateProfile): readonly string[] => [
  ...new Set([
    ...Object.values(columns).filter((column) => column !== undefined),
    ...identity.map(({ column }) => column),
  ]),
];

function rowsOfText(file: string, bytes: Uint8Array, profile: CertificateProfile): CertificateRows {
  const decoded = utf8Text(file, bytes);
  if ('problem' in decoded) throw new BadInputError([decoded.problem]);
  const { delimiter, headerLines } = profile.csv!;
  const sign = DELIMITERS[delimiter];
  const lines = decoded.text.replace(/^\uFEFF/, '').split(/\r?\n/);
  const cellsOf = (text: string | undefined) =>
    text === undefined ? undefined : splitCsvLine(text, sign)?.map((cell) => cell.trim());
  const head = cellsOf(lines[headerLines]) ?? [];
  const problem = (line: number, found: string, expected: string): Problem => ({
    ...{ code: 'certificate', file, line, found, expected, remedy: REMEDY },
  });
  const headLine = headerLines + 1;
  const problems = columnsOf(profile).flatMap((column): Problem[] => {
    const times = head.filter((name) => name === column).length;
    if (times === 1) return [];
    const found = times === 0 ? `no column "${column}"` : `the column "${column}" ${times} times`;
    return [{ ...problem(headLine, found, 'each column of the profile once'), field: column }];
  });
  const rows = lines.slice(headLine).flatMap((text, index): CertificateRow[] => {
    const line = headLine + 1 + index;
    if (text.replaceAll(sign, '').trim() === '') return [];
    const cells = cellsOf(text);
    if (cells?.length === head.length) return [{ line, cell: (column) => cells[head.indexOf(column)] }];
    const found = cells === undefined ? 'a quote that is not closed' : `${cells.length} fields`;
    problems.push(problem(line, found, `${head.length}, as in the head line`));
    return [];
  });
  if (problems.length > 0) throw new BadInputError(problems);
  return { headLine, rows };
}

interface Node {
  readonly name: string;
  readonly line: number;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: Node[];
  text: string;
}

function rowsOfXml(
  file: string,
  bytes: Uint8Array,
  { namespace = '', row }: NonNullable<CertificateProfile['xml']>,
): CertificateRows {
  const [rootName = '', ...path] = row.slice(1).split('/');
  const refuse = (line: number, found: string, expected: string): never => {
    throw new BadInputError([{ code: 'certificate', file, line, found, expected, remedy: REMEDY }]);
  };
  const open: (Node | null)[] = [];
  let root: Node | undefined;
  readStrictXml(bytes, {
    ...{ root: rootName, namespaces: [namespace], refuse },
    expected: `an element ${rootName} of "${namespace}"`,
    enter: ({ local, uri, attributes }, line) => {
      const parent = open.at(-1);
      // What belongs to another namespace says nothing here, and neither does what is in it.
      if (uri !== namespace || (open.length > 0 && parent === null)) {
        open.push(null);
        return;
      }
      const told = Object.values(attributes).flatMap((one) =>
        one.uri === '' ? [[one.local, one.value] as const] : [],
      );
      const node: Node = { name: local, line, attributes: new Map(told), children: [], text: '' };
      parent?.children.push(node);
      root ??= node;
      open.push(node);
    },
    text: (text) => {
      const node = open.at(-1);
      if (node) node.text += text;
    },
    leave: () => open.pop(),
  });
  const rows = path.reduce((nodes, name) => nodes.flatMap((node) => named(node, name)), [root!]);
  if (rows.length === 0) refuse(root!.line, `no ${row}`, 'an element for each value');
  return {
    headLine: root!.line,
    rows: rows.map((node) => ({
      line: node.line,
      cell: (column) => cellAt(node, column, root!, (line, found) => refuse(line, found, 'one of each in a row')),
    })),
  };
}

const named = (node: Node, name: string): Node[] => node.children.filter((child) => child.name === name);

function cellAt(row: Node, column: string, root: Node, refuse: (line: number, found: string) => never) {
  if (column === '.') return row.text.trim();
  const steps = column.replace(/^\//, '').split('/');
  let at = row;
  if (column.startsWith('/')) {
    if (steps.shift() !== root.name) return undefined;
    at = root;
  }
  for (const step of steps) {
    if (step.startsWith('@')) return at.attributes.get(step.slice(1))?.trim();
    const [next, second] = named(at, step);
    if (second) refuse(second.line, `${step} a second time in ${at.name}`);
    if (next === undefined) return undefined;
    at = next;
  }
  if (at.children.length > 0) refuse(at.line, `elements inside ${at.name}, where a value is read`);
  return at.text.trim();
}
