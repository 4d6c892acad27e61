import fs from 'node:fs';
import path from 'node:path';
import { parseSync } from '@swc/core';

/** One text in a file of the program; of a template, each value that is put in is `…`. */
export interface SourceText {
  readonly file: string;
  readonly text: string;
  /**
   * Names of what the text stands in, from the outermost on: `throw`, `new BadInputError`, `describe()`, `remedy`, `@Get`,
   * `type`, `compared` for an operand of `===`.
   */
  readonly within: readonly string[];
}

/** Every string and template in the files of a folder, those that name imported files left out. */
export const textsIn = (folder: string): SourceText[] =>
  filesIn(folder).flatMap((file) => textsOf(file, fs.readFileSync(file, 'utf8')));

/** The names of all properties in the files of a folder, and whatever their code compares a value with; templates as above. */
export function namesIn(folder: string): Set<string> {
  const names = new Set<string>();
  const add = (node: Node | undefined): void => {
    const name = node?.type === 'Computed' ? (node.expression as Node) : node;
    const text = name?.type === 'Identifier' ? (name.value as string) : name && textOf(name);
    if (text !== undefined) names.add(text);
  };
  for (const file of filesIn(folder)) {
    walk(parsed(fs.readFileSync(file, 'utf8')), [], (node) => {
      if (node.type === 'KeyValueProperty') add(node.key as Node);
      else if (node.type === 'SwitchCase') add(node.test as Node);
      else if (node.type === 'BinaryExpression') for (const side of [node.left, node.right]) add(side as Node);
    });
  }
  return names;
}

/** A node of the tree of a file, or what lies between two of them and has no type. */
type Node = { readonly type?: string } & Record<string, unknown>;

const filesIn = (folder: string): string[] =>
  fs
    .readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => path.join(folder, name))
    .sort();

const parsed = (source: string): Node =>
  parseSync(source, { syntax: 'typescript', decorators: true, target: 'es2022' }) as unknown as Node;

/** Every member of a type, an enumeration or a union in the files of a folder: what compares and is stored, and is no sentence. */
export const codesIn = (folder: string): Set<string> =>
  new Set(
    textsIn(folder)
      .filter(({ within }) => within.some((name) => /^(type|(literal|enum|discriminatedUnion)\(\))$/.test(name)))
      .map(({ text }) => text),
  );

/** The same of one file, whatever its source is. */
export function textsOf(file: string, source: string): SourceText[] {
  const texts: SourceText[] = [];
  walk(parsed(source), [], (node, within) => {
    const text = textOf(node);
    if (text !== undefined) texts.push({ file, text, within });
  });
  return texts;
}

function textOf({ type, value, quasis }: Node): string | undefined {
  if (type === 'StringLiteral') return value as string;
  if (type !== 'TemplateLiteral' || quasis === undefined) return undefined;
  return (quasis as { raw: string }[]).map(({ raw }) => raw).join('…');
}

function walk(node: Node, within: readonly string[], visit: (node: Node, within: readonly string[]) => void): void {
  if (node.type === 'ImportDeclaration') return;
  if (node.type !== undefined) visit(node, within);
  const name = nameOf(node);
  const inside = name === undefined ? within : [...within, name];
  for (const inner of Object.values(node).flat()) {
    if (typeof inner === 'object' && inner !== null) walk(inner as Node, inside, visit);
  }
}

function nameOf(node: Node): string | undefined {
  const nameIn = (inner: unknown): string | undefined => {
    const { type, value, property } = inner as Node;
    if (type === 'Super') return 'super';
    if (type === 'MemberExpression') return nameIn(property);
    return type === 'Identifier' || type === 'StringLiteral' ? (value as string) : undefined;
  };
  switch (node.type) {
    case 'ThrowStatement':
      return 'throw';
    case 'NewExpression':
      return `new ${nameIn(node.callee)}`;
    case 'CallExpression':
      return `${nameIn(node.callee)}()`;
    case 'KeyValueProperty':
      return nameIn(node.key);
    case 'VariableDeclarator':
      return nameIn(node.id);
    case 'AssignmentExpression':
    case 'AssignmentPattern':
      return nameIn(node.left);
    case 'Decorator':
      return `@${nameIn((node.expression as Node).callee ?? node.expression)}`;
    case 'TsLiteralType':
      return 'type';
    case 'BinaryExpression':
      return ['===', '!=='].includes(node.operator as string) ? 'compared' : undefined;
    default:
      return undefined;
  }
}
