import {
  Composer,
  isMap,
  isScalar,
  isSeq,
  Lexer,
  LineCounter,
  type Node,
  Parser,
  Scalar,
  visit,
  type YAMLMap,
} from 'yaml';
import { decodedText } from './decoded-text.js';
import type { Problem } from './errors.js';
import { MOST } from './limits.js';
import { brokenReferences, unknownReference, type Wrong } from './yaml-references.js';

/** One YAML document as plain data, every scalar as text. */
export interface YamlText {
  readonly value: unknown;
  /** Line of what stands at a path, or of the nearest field around it. */
  lineAt(path: readonly PropertyKey[]): number;
}

/**
 * Reads the one YAML document of a file. Every scalar is text: `0.10` keeps its last digit and heat `0417` its first.
 * @param source bytes in UTF-8, or in UTF-16 with its mark.
 * @returns the document, and every problem with line and column. A document may come with problems where the rest of it
 * can still be looked at: then it stands for nothing but further problems.
 */
export function readYamlText(file: string, source: Uint8Array | string): { read?: YamlText; problems: Problem[] } {
  const decoded = typeof source === 'string' ? { text: source } : decodedText(file, source);
  if ('problem' in decoded) return { problems: [decoded.problem] };
  const { text } = decoded;
  const lines = new LineCounter();
  const problem = (code: string, rest: Omit<Problem, 'code' | 'file'>): Problem => ({ code, file, ...rest });
  const at = (offset: number) => {
    const { line, col } = lines.linePos(offset);
    return { line, column: col };
  };
  const tokens = tokensOf(text, lines);
  if ('wrong' in tokens) {
    const { offset, ...says } = tokens.wrong;
    return { problems: [problem('too-much', { ...at(offset), ...says })] };
  }
  const [parsed, ...more] = documentsOf(tokens.tokens, lines);
  if (!parsed || parsed.contents === null) {
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
  const faults = [...parsed.errors, ...parsed.warnings].slice(0, MOST.problemsOfFile).map(({ code, pos, message }) => {
    const where = at(pos[0]);
    if (code === 'BAD_ALIAS') return problem('reference', { ...where, ...unknownReference('*') });
    // `title: *new cell` is a reference with text behind it.
    const [begun] = /\*\S+(?=\s+$)/.exec(text.slice(pos[0] - where.column + 1, pos[0])) ?? [];
    if (code === 'UNEXPECTED_TOKEN' && begun !== undefined) {
      return problem('reference', { ...where, ...unknownReference(begun) });
    }
    return problem('yaml', {
      ...where,
      found: message.split('\n')[0] ?? '',
      expected: 'a whole YAML document',
      remedy: 'correct the line; a file that was cut must be copied again',
    });
  });
  const root = parsed.contents as Node;
  const pairs = pairsIn(root);
  const { wrong, aliases, isTooLarge } = brokenReferences(root);
  // Of a line that cannot be read as it stands, what its reference leads to is no second problem.
  const told = new Set(faults.map(({ line }) => line));
  const problems = [
    ...faults,
    ...[...repeatedDirective(tokens.tokens), ...wrongKeys(pairs), ...wrong]
      .map(({ offset, code = 'reference', ...says }) => problem(code, { ...at(offset), ...says }))
      .filter(({ line }) => !told.has(line)),
  ].sort((a, b) => a.line! - b.line! || a.column! - b.column!);
  if (faults.length > 0 || isTooLarge || problems.some(({ code }) => code === 'too-much')) return { problems };
  // What a broken reference stands for is unknown: its own text lets the fields around it be looked at.
  visit(parsed, { Alias: (_, alias) => (aliases.has(alias) ? scalarFor(alias) : undefined) });
  const inside = (node: unknown, step: PropertyKey): unknown => {
    if (isSeq(node)) return node.items[Number(step)];
    return isMap(node) ? pairs.get(node)?.get(String(step))?.[0]?.value : undefined;
  };
  return {
    problems,
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

function scalarFor(alias: { readonly source: string; readonly range?: Node['range'] }): Scalar {
  const scalar = new Scalar(`*${alias.source}`);
  scalar.range = alias.range ?? null;
  return scalar;
}

type Tokens = ReturnType<Parser['next']> extends Generator<infer T> ? T[] : never;

/** Cuts the text into the parts of its documents, and counts while it does: nothing of a document is built before. */
function tokensOf(text: string, lines: LineCounter): { tokens: Tokens } | { wrong: Wrong } {
  const parser = new Parser(lines.addNewLine);
  lines.addNewLine(0);
  const tokens: Tokens = [];
  let count = 0;
  for (const lexeme of new Lexer().lex(text)) {
    count += 1;
    for (const token of parser.next(lexeme)) tokens.push(token);
    const isDeep = parser.stack.length > DEEPEST_STACK;
    if (count <= MOST.documentTokens && !isDeep) continue;
    const seen = isDeep
      ? `values nested more than ${MOST.documentDepth} deep`
      : `more than ${MOST.documentTokens} words and signs`;
    return {
      wrong: {
        offset: parser.offset,
        found: seen,
        expected: `at most ${MOST.documentTokens} words and signs, nested at most ${MOST.documentDepth} deep`,
        remedy: 'write less into one file; many values of one sort belong into a table or a log',
      },
    };
  }
  for (const token of parser.end()) tokens.push(token);
  return { tokens };
}

/** Each level of a document stands on the stack of the parser with what holds it, the document itself below. */
const DEEPEST_STACK = MOST.documentDepth + 2;

function documentsOf(tokens: Tokens, lines: LineCounter) {
  // Known tags are not resolved: `!!float 0.10` would lose its last digit.
  // The library compares each key with all before it, which takes minutes in a large map: they are compared below.
  const options = {
    ...({ schema: 'failsafe', resolveKnownTags: false, lineCounter: lines, uniqueKeys: false } as const),
    // What it warns of is told as a problem, and nothing is written to the terminal beside.
    logLevel: 'error' as const,
  };
  return [...new Composer(options).compose(tokens)];
}

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

/** A version of YAML is named once; which one makes no difference where every scalar is text. */
function repeatedDirective(tokens: Tokens): Wrong[] {
  const named = tokens.filter((token) => token.type === 'directive' && token.source.startsWith('%YAML'));
  return named.slice(1, 2).map(({ offset }) => ({
    offset,
    code: 'yaml',
    found: 'the version of YAML twice',
    expected: 'at most one line that begins with %YAML',
    remedy: 'remove one of the two',
  }));
}

function wrongKeys(pairs: ReturnType<typeof pairsIn>): Wrong[] {
  const again = [...pairs.values()].flatMap((byKey) => [...byKey.values()].flatMap(([, ...others]) => others));
  const repeated = again.slice(0, MOST.problemsOfFile).map(({ key }) => ({
    offset: (key as Node).range![0],
    code: 'duplicate-key',
    found: 'the same field twice',
    expected: 'each field once',
    remedy: 'remove one of the two',
  }));
  const large = [...pairs].flatMap(([map, byKey]) =>
    byKey.size <= MOST.documentKeys
      ? []
      : [
          {
            offset: (map as Node).range![0],
            code: 'too-much',
            found: `${byKey.size} fields in one place`,
            expected: `at most ${MOST.documentKeys}`,
            remedy: 'correct the indentation, or split the file',
          },
        ],
  );
  const collections = [...pairs.keys()]
    .flatMap((map) => (map as YAMLMap).items.filter(({ key }) => isMap(key) || isSeq(key)))
    .slice(0, MOST.problemsOfFile)
    .map(({ key }) => ({
      offset: (key as Node).range![0],
      code: 'field-name',
      found: 'a list or a group of fields as the name of a field',
      expected: 'a text',
      remedy: 'write the name of the field',
    }));
  return [...repeated, ...large, ...collections];
}

/** What stands at a path of plain data, or undefined. */
export function valueAt(document: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, step) => (value === null || typeof value !== 'object' ? undefined : (value as never)[step as never]),
    document,
  );
}
