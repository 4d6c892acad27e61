import fs from 'node:fs';
import path from 'node:path';
import { leafCommands } from '../../src/cli/command-table.js';
import { buildProgram } from '../../src/program.js';

/** Without types, and without what is imported when a command runs. */
const LOADED = /^(?:import|export)\s+(?!type\b)(?:[^'"]*?from\s+)?'([^']+)'/gm;

/** What is loaded before a command runs: our own files by their path below `src`, and packages by name. */
function loadedBy(start: string): string[] {
  const found = new Set([start]);
  for (const file of found) {
    if (!file.endsWith('.ts')) continue;
    for (const [, target] of fs.readFileSync(path.join('src', file), 'utf8').matchAll(LOADED)) {
      if (!target!.startsWith('.')) found.add(target!);
      else found.add(path.join(path.dirname(file), target!).replace(/\.js$/, '.ts'));
    }
  }
  return [...found];
}

it('loads no package but commander before a command runs', () => {
  const packages = loadedBy('cli.ts').filter((name) => !name.endsWith('.ts') && !name.startsWith('node:'));
  expect(packages).toEqual(['commander']);
});

it('follows imports: what a command does is another matter', () => {
  expect(loadedBy('signing/status-run.ts')).toEqual(
    expect.arrayContaining(['store/store.ts', '@nestjs/common', 'zod', 'better-sqlite3']),
  );
});

it('has the declaration of every command in a file of its name', () => {
  const files = fs.readdirSync('src', { recursive: true, encoding: 'utf8' }).map((file) => path.basename(file));
  const names = leafCommands(buildProgram()).map((command) => {
    const { parent } = command;
    return parent?.parent ? parent.name() : command.name();
  });
  expect(names.filter((name) => !files.includes(`${name}-command.ts`))).toEqual([]);
});
