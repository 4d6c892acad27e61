import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { transformSync } from '@swc/core';
import { FURTHER_FILES, PATCHES } from './growth-patches.js';

const TRANSFORM = {
  swcrc: false,
  jsc: {
    parser: { syntax: 'typescript', decorators: true },
    transform: { legacyDecorator: true, decoratorMetadata: true },
    target: 'es2022',
  },
  module: { type: 'es6' },
} as const;

/** What the program needs beside its code. */
const BESIDE = ['fonts', 'package.json', 'package-lock.json', 'prisma', 'templates', 'third-party'];
const PHRASES = path.join('report', 'phrases');
/** Its functions read the facts that phrases word, and word none. */
const READS_FACTS = path.join(PHRASES, 'phrase.ts');

/** What came of one command. */
export interface Ended {
  readonly code: number;
  /** What it printed as JSON. */
  readonly answer: Record<string, unknown>;
}

/** A later version of this program: its sources with every patch applied, and every phrase worded anew. */
export class GrownProgram {
  private constructor(private readonly folder: string) {}

  /** @throws Error when a patch does not apply exactly once. */
  static make(folder: string): GrownProgram {
    for (const name of BESIDE) fs.cpSync(name, path.join(folder, name), { recursive: true });
    fs.symlinkSync(path.resolve('node_modules'), path.join(folder, 'node_modules'));
    const texts = sources();
    for (const { file, from, to } of PATCHES) texts.set(file, replacedOnce(file, texts.get(file) ?? '', from, to));
    for (const [file, text] of Object.entries(FURTHER_FILES)) texts.set(file, text);
    texts.set('word-mark.ts', fs.readFileSync('tests/support/word-mark.ts', 'utf8'));
    for (const [file, text] of texts) {
      const { code } = transformSync(text, { ...TRANSFORM, filename: file });
      const out = path.join(folder, 'dist', file.replace(/\.ts$/, '.js'));
      fs.mkdirSync(path.dirname(out), { recursive: true });
      fs.writeFileSync(out, file.startsWith(PHRASES) && file !== READS_FACTS ? wordedAnew(file, code) : code);
    }
    fs.copyFileSync('tests/formats/run-grown.mjs', path.join(folder, 'run-grown.mjs'));
    return new GrownProgram(folder);
  }

  /** Runs commands on a data folder, one after the other. */
  run(data: string, commands: readonly (readonly string[])[]): Ended[] {
    const input = JSON.stringify(commands.map((words) => ['--data', data, '--json', ...words]));
    const driver = path.join(this.folder, 'run-grown.mjs');
    const out = execFileSync(process.execPath, [driver], { input, encoding: 'utf8', maxBuffer: 1 << 28 });
    return (JSON.parse(out) as { code: number; text: string }[]).map(({ code, text }) => ({
      code,
      answer: JSON.parse(text) as Record<string, unknown>,
    }));
  }
}

function sources(): Map<string, string> {
  const names = fs.readdirSync('src', { recursive: true, encoding: 'utf8' });
  const own = names.filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts'));
  return new Map(own.map((name) => [name, fs.readFileSync(path.join('src', name), 'utf8')]));
}

function replacedOnce(file: string, text: string, from: string, to: string): string {
  const found = text.split(from).length - 1;
  if (found !== 1) throw new Error(`src/${file}: expected once, found ${found} times: ${from}`);
  return text.replace(from, () => to);
}

/** A module of phrases of which each export says everything otherwise. */
function wordedAnew(file: string, code: string): string {
  const names = [...code.matchAll(/^export (?:const|function) (\w+)/gm)].map(([, name]) => name);
  const mark = path.posix.relative(path.posix.dirname(file), 'word-mark.js');
  return [
    `import { markedExport } from '${mark}';`,
    code.replaceAll(/^export const /gm, 'export let '),
    ...names.map((name) => `${name} = markedExport(${name});`),
  ].join('\n');
}
