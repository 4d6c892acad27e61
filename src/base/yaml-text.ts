import {
  isAlias,
  isCollection,
  isMap,
  isPair,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  parseAllDocuments,
  type YAMLMap,
} from 'yaml';
import type { Problem } from './errors.js';
import { utf8Text } from './utf8.js';

/** One YAML document as plain data, every scalar as text. */
export interface YamlText {
  readonly value: unknown;
  /** Line of what stands at a path, or of the nearest field around it. */
  lineAt(path: readonly PropertyKey[]): number;
}

/** References may repeat a value, but a file of a few lines must not stand for more than this many values. */
const MOST_VALUES = 1_000_000;
const DEEPEST = 100;

/**
 * Reads the one YAML document of a file. Every scalar is text: `0.10` keeps its last digit and heat `0417` its first.
 * @returns the document, or every problem with line and column.
 */
export function readYamlText(file: string, source: Uint8Array | string): { read?: YamlText; problems: Problem[] } {
  const decoded = typeof source === 'string' ? { text: source } : utf8Text(file, source);
  if ('problem' in decoded) return { problems: [decoded.problem] };
  const lines = new LineCounter();
  // Known tags are not resolved: `!!float 0.10` would lose its last digit.
  // The library compares each key with all before it, which takes minutes in a large map: they are compared below.
  const options = { schema: 'failsafe', resolveKnownTags: false, lineCounter: lines, uniqueKeys: false } as const;
  const [parsed, ...more] = parseAllDocuments(decoded.text, options);
  const problem = (code: string, rest: Omit<Problem, 'code' | 'file'>): Problem => ({ code, file, ...rest });
  const at = (offset: number) => {
    const { line, col } = lines.linePos(offset);
    return { line, column: col };
  };
  if (!parsed || !('contents' in parsed) || parsed.contents === null) {
    return {
      problems: [problem('empty', { line: 1, found: 'nothing', expected: 'a document', remedy: 'fill or remove it' })],
    };
  }
  if (more.length > 0) {
    return {
      problems: [
        problem('several-documents', {
          found: `${more.length + 1} documents`,
          expected: 'one document a file',
          remedy: 'split the file at its "---" lines',
        }),
      ],
    };
  }
  const faults = [...parsed.errors, ...parsed.warnings];
  if (faults.length > 0) {
    return {
      problems: faults.map(({ code, pos, message }) => {
        const where = at(pos[0]);
        if (code === 'BAD_ALIAS') return problem('reference', { ...where, ...unknownReference('*') });
        // `title: *new cell` is a reference with text behind it.
        const [begun] = /\*\S+(?=\s+$)/.exec(decoded.text.slice(pos[0] - where.column + 1, pos[0])) ?? [];
        if (code === 'UNEXPECTED_TOKEN' && begun !== undefined)
          return problem('reference', { ...where, ...unknownReference(begun) });
        return problem('yaml', {
          ...where,
          found: message.split('\n')[0] ?? '',
          expected: 'a whole YAML document',
          remedy: 'correct the line; a file that was cut must be copied again',
        });
      }),
    };
  }
  const root = parsed.contents as Node;
  const pairs = pairsIn(root);
  const wrong = [...repeatedKeys(pairs), ...measure(root)];
  if (wrong.length > 0) {
    return {
      problems: wrong.map(({ offset, code = 'reference', ...says }) => problem(code, { ...at(offset), ...says })),
    };
  }
  const inside = (node: unknown, step: PropertyKey): unknown => {
    if (isSeq(node)) return node.items[Number(step)];
    return isMap(node) ? pairs.get(node)?.get(String(step))?.[0]?.value : undefined;
  };
  return {
    problems: [],
    read: {
      // What references stand for was counted above.
      value: parsed.toJS({ maxAliasCount: -1 }) as unknown,
      lineAt(path) {
        for (let length = path.length; length >= 0; length--) {
          const node = path.slice(0, length).reduce(inside, root) as Node | undefined;
          if (node?.range) return lines.linePos(node.range[0]).line;
        }
        return 1;
      },
    },
  };
}

type Wrong = Pick<Problem, 'found' | 'expected' | 'remedy'> & { readonly code?: string };

type Pairs = YAMLMap['items'];

/** Of each map its pairs by their keys. */
function pairsIn(root: Node): ReadonlyMap<unknown, ReadonlyMap<string, Pairs>> {
  const found = new Map<unknown, Map<string, Pairs>>();
  const open: unknown[] = [root];
  while (open.length > 0) {
    const node = open.pop();
    if (isMap(node)) {
      const byKey = new Map<string, Pairs>();
      found.set(node, byKey);
      for (const pair of node.items) {
        const key = isScalar(pair.key) ? String(pair.key.value) : undefined;
        const own = key === undefined ? undefined : byKey.get(key);
        if (own) own.push(pair);
        else if (key !== undefined) byKey.set(key, [pair]);
        open.push(pair.key, pair.value);
      }
    } else if (isSeq(node)) for (const item of node.items) open.push(item);
  }
  return found;
}

function repeatedKeys(pairs: ReturnType<typeof pairsIn>): (Wrong & { offset: number })[] {
  const again = [...pairs.values()].flatMap((byKey) => [...byKey.values()].flatMap(([, ...others]) => others));
  return again
    .map(({ key }) => ({
      offset: (key as Node).range![0],
      code: 'duplicate-key',
      found: 'the same field twice',
      expected: 'each field once',
      remedy: 'remove one of the two',
    }))
    .sort((a, b) => a.offset - b.offset);
}

function unknownReference(text: string): Wrong {
  return {
    found: `${text}, a value that begins with "*": YAML reads it as a reference, and nothing before it is marked &${text.slice(1)}`,
    expected: 'text in quotes, or a reference to a value that was marked before',
    remedy: `put the value into quotes: "${text}"`,
  };
}

/** References that lead nowhere or into themselves, and documents that unfold into more than anybody wrote. */
function measure(root: Node): (Wrong & { offset: number })[] {
  const wrong: (Wrong & { offset: number })[] = [];
  const marked = new Map<string, Node>();
  const sizes = new Map<Node, { values: number; depth: number }>();
  const open = new Set<Node>();
  const offsetOf = (node: Node) => node.range?.[0] ?? 0;
  let largest = { values: 0, offset: offsetOf(root) };

  const visit = (node: unknown): { values: number; depth: number } => {
    if (isAlias(node)) {
      const text = `*${node.source}`;
      const source = marked.get(node.source);
      const refuse = (says: Wrong) => {
        wrong.push({ offset: offsetOf(node), ...says });
        return { values: 1, depth: 1 };
      };
      if (!source) return refuse(unknownReference(text));
      if (open.has(source)) {
        return refuse({
          found: `${text}, a reference to a value that holds it`,
          expected: 'a reference to a value that ended before',
          remedy: 'write the value out',
        });
      }
      const size = sizes.get(source)!;
      if (size.values > largest.values) largest = { values: size.values, offset: offsetOf(node) };
      return size;
    }
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
  if (wrong.length === 0 && (values > MOST_VALUES || depth > DEEPEST)) {
    const seen = values > MOST_VALUES ? `${values} values` : `values nested ${depth} deep`;
    wrong.push({
      offset: largest.offset,
      found: `${seen}, with every reference written out`,
      expected: `at most ${MOST_VALUES} values, nested at most ${DEEPEST} deep`,
      remedy: 'write less into one file, and write the values out',
    });
  }
  return wrong;
}

/** What stands at a path of plain data, or undefined. */
export function valueAt(document: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, step) => (value === null || typeof value !== 'object' ? undefined : (value as never)[step as never]),
    document,
  );
}
