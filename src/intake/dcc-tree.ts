import { MOST } from '../base/limits.js';
import { readStrictXml } from '../base/strict-xml.js';

/** An element of a digital calibration certificate, with what belongs to it. */
export interface DccNode {
  readonly name: string;
  readonly line: number;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: DccNode[];
  /** How many elements stand in it, of whatever namespace. */
  elements: number;
  text: string;
}

const DCC = 'https://ptb.de/dcc';
const SI = 'https://ptb.de/si';
const SIGNATURE = 'http://www.w3.org/2000/09/xmldsig#';
/** What is not read holds pictures and papers in base 64. */
const NOT_READ = new Set(['document', 'byteData', 'byteDataBlock', 'dataBase64', 'file', 'measurementMetaData']);

/** Refuses a certificate, with the line. */
export type Refuse = (line: number, found: string, expected: string) => never;

/** All that is read of the file, with what belongs to DCC and D-SI alone. */
export function treeOf(
  bytes: Uint8Array,
  refuse: Refuse,
): { readonly root: DccNode; readonly signatureLine: number | null } {
  if (bytes.length > MOST.certificateBytes)
    refuse(1, `more than ${MOST.certificateBytes} bytes`, `at most ${MOST.certificateBytes}`);
  let root: DccNode | undefined;
  let signatureLine: number | null = null;
  let [nodes, depth, passed] = [0, 0, Number.POSITIVE_INFINITY];
  const open: DccNode[] = [];
  readStrictXml(bytes, {
    root: 'digitalCalibrationCertificate',
    namespaces: [DCC],
    expected: `a digitalCalibrationCertificate of ${DCC}`,
    refuse,
    enter: ({ local, uri, attributes }, line) => {
      depth += 1;
      if (depth === 2 && uri === SIGNATURE && local === 'Signature') signatureLine ??= line;
      if (depth > passed) return;
      const parent = open.at(-1);
      if (parent) parent.elements += 1;
      if ((uri !== DCC && uri !== SI) || NOT_READ.has(local)) {
        passed = depth;
        return;
      }
      nodes += 1;
      if (nodes > MOST.documentValues) refuse(line, `more than ${MOST.documentValues} elements`, 'fewer');
      const told = Object.fromEntries(Object.values(attributes).map((one) => [one.local, one.value]));
      const node: DccNode = { name: local, line: line, attributes: told, children: [], elements: 0, text: '' };
      parent?.children.push(node);
      root ??= node;
      open.push(node);
    },
    text: (text) => {
      const at = open.at(-1);
      if (at && depth < passed) at.text += text;
    },
    leave: () => {
      if (depth < passed) open.pop();
      if (depth === passed) passed = Number.POSITIVE_INFINITY;
      depth -= 1;
    },
  });
  return { root: root!, signatureLine };
}

/** The element along a path of names; undefined where one is not there. A second one beside any of them is refused. */
export const find = (refuse: Refuse, from: DccNode, ...path: readonly string[]): DccNode | undefined =>
  path.reduce<DccNode | undefined>((at, name) => {
    const [one, second] = (at?.children ?? []).filter((child) => child.name === name);
    return second ? refuse(second.line, `${name} a second time in ${at!.name}`, 'one') : one;
  }, from);

/** All elements along a path of names. */
export const all = (from: DccNode | undefined, ...path: readonly string[]): DccNode[] =>
  from === undefined
    ? []
    : path.reduce(
        (nodes, name) => nodes.flatMap(({ children }) => children.filter((child) => child.name === name)),
        [from],
      );

/** The text of an element; nothing where there is none. On both sides of an element it would be two texts. */
export const textOf = (refuse: Refuse, node: DccNode | undefined): string => {
  if (node !== undefined && node.elements > 0) refuse(node.line, `elements inside ${node.name}`, 'text alone');
  return node?.text.trim() ?? '';
};

/** Its name in the first language that has one, else what sort of thing it is by its schema. */
export const nameOf = (refuse: Refuse, node: DccNode | undefined): string =>
  textOf(refuse, all(node, 'name', 'content')[0]) || (node?.attributes.refType ?? '');

/** The element along a path of names, which has to be there. */
export const demanded = (refuse: Refuse, from: DccNode, ...path: readonly string[]): DccNode =>
  find(refuse, from, ...path) ?? refuse(from.line, `no ${path.join('/')}`, `${path.join('/')} in ${from.name}`);
