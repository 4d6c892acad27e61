import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { readStrictXml } from '../base/strict-xml.js';
import type { CertificateProfile } from '../kinds/certificate-profile.js';
import { cellsOf, isBlank, linesOfText } from './declared-text.js';

/** One row of a certificate: a line of a text, or an element. */
export interface CertificateRow {
  readonly line: number;
  /** What it says in a column; undefined where the element, or the column, is not there. */
  cell(column: string): string | undefined;
}

/** The rows of a certificate, and the line that says what they hold. */
interface CertificateRows {
  readonly headLine: number;
  readonly rows: readonly CertificateRow[];
  /** The line below the head line, where it says the units. */
  readonly units?: CertificateRow;
}

const REMEDY = 'ask the supplier for the certificate as it always was, or correct the profile; nothing is guessed';

/** @throws BadInputError with the line of what is no such file. */
export function rowsOf(file: string, bytes: Uint8Array, profile: CertificateProfile): CertificateRows {
  return profile.xml === undefined ? rowsOfText(file, bytes, profile) : rowsOfXml(file, bytes, profile.xml);
}

/** Every column that a profile reads, and those that it knows besides; others are refused where properties are columns. */
function columnsOf({ columns, propertyColumns, identity, properties }: CertificateProfile) {
  const { uncertainties = [], coverageFactor, method, passedBy = [] } = propertyColumns ?? {};
  const mayLack = new Set(properties.filter(({ need }) => need !== 'always').map(({ name }) => name));
  const optional = propertyColumns
    ? [...mayLack, ...uncertainties.filter(({ of }) => mayLack.has(of)).map(({ column }) => column)]
    : [];
  const read = [
    ...Object.values(columns ?? {}),
    ...identity.map(({ column }) => column),
    ...(propertyColumns ? properties.map(({ name }) => name) : []),
    ...[...uncertainties.map(({ column }) => column), coverageFactor, method],
  ].filter((column) => column !== undefined);
  return { read: [...new Set(read)], optional, passedBy: propertyColumns && passedBy };
}

function rowsOfText(file: string, bytes: Uint8Array, profile: CertificateProfile): CertificateRows {
  const form = profile.csv!;
  const { headerLines } = form;
  const lines = linesOfText(file, bytes, form);
  const head = cellsOf(lines[headerLines] ?? '', form) ?? [];
  const problem = (line: number, found: string, expected: string): Problem => ({
    ...{ code: 'certificate', file, line, found, expected, remedy: REMEDY },
  });
  const headLine = headerLines + 1;
  const { read, optional, passedBy } = columnsOf(profile);
  const problems = read.flatMap((column): Problem[] => {
    const times = head.filter((name) => name === column).length;
    if (times === 1 || (times === 0 && optional.includes(column))) return [];
    const found = times === 0 ? `no column "${column}"` : `the column "${column}" ${times} times`;
    return [{ ...problem(headLine, found, 'each column of the profile once'), field: column }];
  });
  if (passedBy) {
    const known = [...read, ...passedBy, ''];
    const odd = [...new Set(head)].filter((column) => !known.includes(column));
    const expected = 'a column that the profile names, be it under passedBy';
    problems.push(
      ...odd.map((column) => ({ ...problem(headLine, `the column "${column}"`, expected), field: column })),
    );
  }
  const rows = lines.slice(headLine).flatMap((text, index): CertificateRow[] => {
    const line = headLine + 1 + index;
    if (isBlank(text, form) || problems.length >= MOST.problemsOfFile) return [];
    const cells = cellsOf(text, form);
    if (cells?.length === head.length) {
      const nameless = passedBy ? cells.find((cell, at) => head[at] === '' && cell !== '') : undefined;
      if (nameless === undefined) return [{ line, cell: (column) => cells[head.indexOf(column)] }];
      problems.push(problem(line, `${nameless} in a column without a name`, 'a name of the profile above each value'));
      return [];
    }
    const found = cells === undefined ? 'a quote that is not closed' : `${cells.length} fields`;
    problems.push(problem(line, found, `${head.length}, as in the head line`));
    return [];
  });
  if (problems.length > 0) throw new BadInputError(problems.slice(0, MOST.problemsOfFile));
  if (profile.propertyColumns?.units !== 'in the line below the head line') return { headLine, rows };
  const [units, ...others] = rows;
  if (units?.line !== headLine + 1)
    throw new BadInputError([problem(headLine + 1, 'nothing', 'the units, below the names of the columns')]);
  return { headLine, rows: others, units };
}

interface Node {
  readonly name: string;
  readonly line: number;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: Node[];
  /** How many elements stand in it, of whatever namespace. */
  elements: number;
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
      if (parent) parent.elements += 1;
      // What belongs to another namespace says nothing here, and neither does what is in it.
      if (uri !== namespace || (open.length > 0 && parent === null)) {
        open.push(null);
        return;
      }
      const told = Object.values(attributes).flatMap((one) =>
        one.uri === '' ? [[one.local, one.value] as const] : [],
      );
      const node: Node = { name: local, line, attributes: new Map(told), children: [], elements: 0, text: '' };
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
  // Text on both sides of an element would be two values.
  const textOf = (node: Node): string => {
    if (node.elements > 0) refuse(node.line, `elements inside ${node.name}, where a value is read`);
    return node.text.trim();
  };
  if (column === '.') return textOf(row);
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
  return textOf(at);
}
