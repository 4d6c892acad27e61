import { z } from 'zod';
import { LaterFormError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { readYamlText, valueAt, type YamlText } from '../base/yaml-text.js';
import { KINDS, kindNamed } from '../kinds/catalogue.js';
import { isPatientField } from '../kinds/fields.js';
import { knownFormats, readAnyFormat } from '../kinds/formats.js';
import type { Kind } from '../kinds/kind.js';
import { askedForText } from '../report/phrases/asked-for.js';

/** One YAML file, read and checked against the schema of its kind. */
export interface ReadDocument {
  readonly file: string;
  /** As received. */
  readonly bytes: Uint8Array;
  readonly kind: Kind;
  /** As the document says it in its own format: what is stored. */
  readonly written: unknown;
  /** In the newest shape of its kind, by which every rule goes. */
  readonly body: unknown;
  /** Line of a field such as `zones[2].layers.from`, or of the nearest field around it. */
  lineOf(field: string): number;
}

type Path = readonly PropertyKey[];

/** Reads one YAML document and checks it against the schema of its kind. */
export function readYaml(file: string, bytes: Uint8Array): { document?: ReadDocument; problems: Problem[] } {
  const { read, problems } = readYamlText(file, bytes);
  if (!read) return { problems };
  const rest = checked(file, bytes, read);
  if (problems.length === 0) return rest;
  // What cannot be read as it stands was told: that it is not what its field wants is no second problem.
  const told = new Set(problems.map(({ line }) => line));
  return { problems: [...problems, ...rest.problems.filter(({ line }) => !told.has(line))] };
}

function checked(
  file: string,
  bytes: Uint8Array,
  { value, lineAt }: YamlText,
): { document?: ReadDocument; problems: Problem[] } {
  const name = (value as { kind?: unknown } | null)?.kind;
  const kind = typeof name === 'string' ? kindNamed(name) : undefined;
  if (!kind) {
    const known = KINDS.map((item) => item.kind).join(', ');
    const problem: Problem = {
      code: 'kind',
      file,
      line: lineAt(['kind']),
      field: 'kind',
      found: name === undefined ? 'none' : JSON.stringify(name),
      expected: `one of ${known}`,
      remedy: 'say which kind of document this is',
    };
    return { problems: [problem] };
  }
  const { read, problems } = readBodyOf(file, kind, value, lineAt);
  return read ? { document: { file, bytes, kind, ...read, lineOf: linesOf(file, bytes) }, problems } : { problems };
}

/** What a document of a kind says, read by its schema, and what is wrong with it by itself. */
export function readBodyOf(
  file: string,
  kind: Kind,
  value: unknown,
  lineAt: (path: Path) => number,
): { read?: Pick<ReadDocument, 'written' | 'body'>; problems: Problem[] } {
  const read = readOrProblems(file, kind, value, lineAt);
  if ('problems' in read) return read;
  const problems = kind
    .contradictions(read.body)
    .map((item): Problem => ({ code: 'contradiction', file, line: lineAt(pathOf(item.field)), ...item }));
  return { read, problems };
}

/** Lines are asked for when something is wrong. Where they stand takes many times the memory of the text: it is read again. */
function linesOf(file: string, bytes: Uint8Array): ReadDocument['lineOf'] {
  let kept: WeakRef<YamlText> | undefined;
  return (field) => {
    const read = kept?.deref() ?? readYamlText(file, bytes).read!;
    kept = new WeakRef(read);
    return read.lineAt(pathOf(field));
  };
}

function readOrProblems(file: string, kind: Kind, value: unknown, lineAt: (path: Path) => number) {
  try {
    return readAnyFormat(kind, value);
  } catch (error) {
    if (error instanceof z.ZodError) {
      return { problems: foremost(file, error.issues, value, lineAt) };
    }
    if (!(error instanceof LaterFormError)) throw error;
    const problem: Problem = {
      code: 'format',
      file,
      line: lineAt(['format']),
      field: 'format',
      found: `format ${error.facts.format} of ${kind.kind}`,
      expected: knownFormats(kind),
      remedy:
        'take it in with the version of the program that it was written for, or write it in a format that this one knows',
    };
    return { problems: [problem] };
  }
}

function foremost(file: string, issues: readonly z.core.$ZodIssue[], value: unknown, lineAt: (path: Path) => number) {
  const problems: Problem[] = [];
  for (const issue of issues) {
    problems.push(...issueProblems(file, issue, value, lineAt));
    if (problems.length > MOST.problemsOfFile)
      return [...problems.slice(0, MOST.problemsOfFile), tooManyProblems(file)];
  }
  return problems;
}

const tooManyProblems = (file: string): Problem => ({
  code: 'too-many-problems',
  file,
  found: `more than ${MOST.problemsOfFile} things that are wrong`,
  expected: 'a document of which single values are wrong',
  remedy: 'look whether it is of another kind, or its lines are indented otherwise',
});

/** `zones[2].layers.from` → ['zones', 2, 'layers', 'from'] */
function pathOf(field: string): Path {
  return field
    .split(/[.[\]]/)
    .filter((step) => step !== '')
    .map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}

export function fieldText(path: Path): string {
  return path.reduce<string>(
    (text, step) => (typeof step === 'number' ? `${text}[${step}]` : text ? `${text}.${String(step)}` : String(step)),
    '',
  );
}

function issueProblems(
  file: string,
  issue: z.core.$ZodIssue,
  document: unknown,
  lineAt: (path: Path) => number,
): Problem[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => unknownField(file, [...issue.path, key], key, lineAt));
  }
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    // Of several shapes, the one with the fewest faults is most likely the one that was meant.
    const nearest = [...issue.errors].sort((a, b) => a.length - b.length)[0]!;
    const inner = nearest.map((item) => ({ ...item, path: [...issue.path, ...item.path] }) as z.core.$ZodIssue);
    if (inner.length > 0) return inner.flatMap((item) => issueProblems(file, item, document, lineAt));
  }
  const found = valueAt(document, issue.path);
  return [
    {
      code: found === undefined ? 'missing-field' : 'field',
      file,
      line: lineAt(issue.path),
      field: fieldText(issue.path),
      found: found === undefined ? 'nothing' : shortText(found),
      expected: askedForText(issue),
      remedy: found === undefined ? 'add the field' : 'correct the value',
    },
  ];
}

function unknownField(file: string, path: Path, key: string, lineAt: (path: Path) => number): Problem {
  const at = { file, line: lineAt(path), field: fieldText(path), found: `the field "${key}"` };
  if (isPatientField(key)) {
    return {
      ...at,
      code: 'patient-field',
      expected: 'no field that identifies a patient: a case is a code',
      remedy: 'remove it; who the patient is stays with the prescribing institution',
    };
  }
  return {
    ...at,
    code: 'unknown-field',
    expected: 'only fields that this kind knows',
    remedy: 'correct the spelling or remove it; docs/formats.md lists the fields',
  };
}

function shortText(value: unknown): string {
  const text = JSON.stringify(value) ?? 'nothing';
  return text.length > 80 ? `${text.slice(0, 77)}…` : text;
}
