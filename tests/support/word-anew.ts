import fs from 'node:fs';
import path from 'node:path';

export const MARK = ' (worded anew)';

const PHRASES = path.resolve('src/report/phrases');

/** Its functions read the facts that phrases word, and word none. */
const READS_FACTS = 'phrase.ts';

/** What an object that a function of phrases makes says in words; its other fields are codes and names. */
const WORDED_FIELDS = ['says', 'clearedBy'];

/**
 * Puts a mark behind every phrase in the tables below `src/report/phrases`, and behind whatever words a function there makes.
 * @returns which tables and functions were found, and what takes the marks away: test files share a process and its modules.
 */
export async function wordAnew(): Promise<{ tables: string[]; functions: string[]; restore: () => void }> {
  const files = fs
    .readdirSync(PHRASES, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .sort();
  const tables: string[] = [];
  const functions: string[] = [];
  const undo: (() => void)[] = [];
  const seen = new Set<object>();
  for (const file of files) {
    const module: Record<string, unknown> = await import(path.join(PHRASES, file));
    for (const [name, exported] of Object.entries(module)) {
      if (isSchema(exported)) continue;
      if (isTable(exported)) {
        tables.push(`${file} ${name}`);
        markTable(exported, seen, undo);
      } else if (typeof exported === 'function' && file !== READS_FACTS) {
        functions.push(`${file} ${name}`);
        markExport(module, name, (...facts) => markedWords(exported(...facts)), undo);
      }
    }
  }
  return {
    tables,
    functions,
    restore: () => {
      for (const step of undo.splice(0)) step();
    },
  };
}

type Table = Record<string, unknown>;

const isTable = (value: unknown): value is Table => typeof value === 'object' && value !== null;

/** The form of a fact. */
const isSchema = (value: unknown): boolean => isTable(value) && 'safeParse' in value;

function markTable(table: Table, seen: Set<object>, undo: (() => void)[]): void {
  if (seen.has(table)) return;
  seen.add(table);
  for (const [name, was] of Object.entries(table)) {
    if (isTable(was)) {
      markTable(was, seen, undo);
      continue;
    }
    table[name] = marked(was);
    undo.push(() => {
      table[name] = was;
    });
  }
}

/** Whoever imports the module reads the name anew at each call, so that it finds what stands there now. */
function markExport(module: object, name: string, now: (...facts: unknown[]) => unknown, undo: (() => void)[]): void {
  const was = Object.getOwnPropertyDescriptor(module, name)!;
  Object.defineProperty(module, name, { configurable: true, enumerable: true, get: () => now });
  undo.push(() => Object.defineProperty(module, name, was));
}

/** What a function made of facts: a phrase, or an object with fields that say something. What else it may be holds no words. */
function markedWords(made: unknown): unknown {
  if (typeof made === 'string') return marked(made);
  if (!isTable(made) || Array.isArray(made)) return made;
  const words = WORDED_FIELDS.filter((field) => Object.hasOwn(made, field));
  return { ...made, ...Object.fromEntries(words.map((field) => [field, marked(made[field])])) };
}

/** A phrase, or what a function makes of facts: a phrase, or an object of phrases. */
function marked(value: unknown): unknown {
  if (typeof value === 'string') return value.endsWith(MARK) ? value : value + MARK;
  if (typeof value === 'function') return (...facts: unknown[]) => marked(value(...facts));
  if (Array.isArray(value)) return value.map(marked);
  if (isTable(value)) return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, marked(one)]));
  return value;
}
