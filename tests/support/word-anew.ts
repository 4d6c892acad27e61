import fs from 'node:fs';
import path from 'node:path';
import { isSchema, isTable, marked, markedWords, type Table } from './word-mark.js';

const PHRASES = path.resolve('src/report/phrases');

/** Its functions read the facts that phrases word, and word none. */
const READS_FACTS = 'phrase.ts';

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
