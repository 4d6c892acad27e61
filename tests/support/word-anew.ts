import fs from 'node:fs';
import path from 'node:path';

export const MARK = ' (worded anew)';

const PHRASES = path.resolve('src/report/phrases');

/**
 * Puts a mark behind every phrase in the tables below `src/report/phrases`, functions that make phrases included.
 * @returns which tables were found, and what takes the marks away: test files share a process and its modules.
 */
export async function wordAnew(): Promise<{ tables: string[]; restore: () => void }> {
  const files = fs
    .readdirSync(PHRASES, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .sort();
  const tables: string[] = [];
  const undo: (() => void)[] = [];
  const seen = new Set<object>();
  for (const file of files) {
    const module: Record<string, unknown> = await import(path.join(PHRASES, file));
    for (const [name, table] of Object.entries(module)) {
      if (!isTable(table)) continue;
      tables.push(`${file} ${name}`);
      markTable(table, seen, undo);
    }
  }
  return {
    tables,
    restore: () => {
      for (const step of undo) step();
    },
  };
}

type Table = Record<string, unknown>;

const isTable = (value: unknown): value is Table => typeof value === 'object' && value !== null;

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

/** A phrase, or what a function makes of facts: a phrase, or an object of phrases. */
function marked(value: unknown): unknown {
  if (typeof value === 'string') return value.endsWith(MARK) ? value : value + MARK;
  if (typeof value === 'function') return (...facts: unknown[]) => marked(value(...facts));
  if (Array.isArray(value)) return value.map(marked);
  if (isTable(value)) return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, marked(one)]));
  return value;
}
