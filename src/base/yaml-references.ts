import { type Alias, isAlias, isCollection, isPair, type Node } from 'yaml';
import type { Problem } from './errors.js';
import { MOST } from './limits.js';

/** Something wrong with a document at a place of its text. */
export type Wrong = Pick<Problem, 'found' | 'expected' | 'remedy'> & {
  readonly offset: number;
  readonly code?: string;
};

export function unknownReference(text: string): Omit<Wrong, 'offset'> {
  return {
    found: `${text}, a value that begins with "*": YAML reads it as a reference, and nothing before it is marked &${text.slice(1)}`,
    expected: 'text in quotes, or a reference to a value that was marked before',
    remedy: `put the value into quotes: "${text}"`,
  };
}

interface Found {
  readonly wrong: Wrong[];
  /** References that stand for nothing. */
  readonly aliases: ReadonlySet<Alias>;
  /** The document must not be unfolded. */
  readonly isTooLarge: boolean;
}

interface Size {
  values: number;
  depth: number;
}

/** References that lead nowhere or into themselves, and documents that unfold into more than anybody wrote. */
export function brokenReferences(root: Node): Found {
  const wrong: Wrong[] = [];
  const aliases = new Set<Alias>();
  const marked = new Map<string, Node>();
  const sizes = new Map<Node, Size>();
  const open = new Set<Node>();
  const offsetOf = (node: Node) => node.range?.[0] ?? 0;
  let largest = { values: 0, offset: offsetOf(root) };
  let count = 0;

  const sizeOfAlias = (alias: Alias): Size => {
    const source = marked.get(alias.source);
    const refuse = (says: Omit<Wrong, 'offset'>) => {
      if (wrong.length < MOST.problemsOfFile) wrong.push({ offset: offsetOf(alias), ...says });
      aliases.add(alias);
      return { values: 1, depth: 1 };
    };
    count += 1;
    if (!source) return refuse(unknownReference(`*${alias.source}`));
    if (open.has(source)) {
      return refuse({
        found: `*${alias.source}, a reference to a value that holds it`,
        expected: 'a reference to a value that ended before',
        remedy: 'write the value out',
      });
    }
    const size = sizes.get(source)!;
    if (size.values > largest.values) largest = { values: size.values, offset: offsetOf(alias) };
    return size;
  };

  // A document is not deeper than its limit: it was counted before it was built.
  const visit = (node: unknown): Size => {
    if (isAlias(node)) return sizeOfAlias(node);
    const own = node as Node & { anchor?: string };
    if (own?.anchor) marked.set(own.anchor, own);
    open.add(own);
    const parts = isPair(node) ? [node.key, node.value] : isCollection(node) ? node.items : [];
    const size = { values: 1, depth: 1 };
    for (const part of parts) {
      const inner = visit(part);
      size.values += inner.values;
      size.depth = Math.max(size.depth, inner.depth + (isPair(node) ? 0 : 1));
    }
    open.delete(own);
    if (own?.anchor) sizes.set(own, size);
    return size;
  };

  const { values, depth } = visit(root);
  const isTooLarge = values > MOST.documentValues || depth > MOST.documentDepth || count > MOST.documentAliases;
  if (isTooLarge) {
    const unfolded = values > MOST.documentValues ? `${values} values` : `values nested ${depth} deep`;
    const isMany = count > MOST.documentAliases;
    wrong.push({
      offset: largest.offset,
      found: isMany ? `${count} references` : `${unfolded}, with every reference written out`,
      expected: isMany
        ? `at most ${MOST.documentAliases} references`
        : `at most ${MOST.documentValues} values, nested at most ${MOST.documentDepth} deep`,
      remedy: 'write less into one file, and write the values out',
    });
  }
  return { wrong, aliases, isTooLarge };
}
