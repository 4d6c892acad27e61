import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import type { Readable } from 'node:stream';
import { setTimeout as sleep } from 'node:timers/promises';

export const CLI = path.resolve('bundle', 'cli.js');

/** Its threads take the option over, as it takes nothing else of those that the test runner has. */
export const ENVIRONMENT = {
  ...process.env,
  NODE_OPTIONS: `--import ${path.resolve('tests', 'support', 'clock-ahead-compiled.mjs')}`,
};

export interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs the compiled program to its end. */
export function lotwright(data: string, ...words: string[]): Ran {
  const done = spawnSync(process.execPath, [CLI, '--data', data, ...words], { encoding: 'utf8', env: ENVIRONMENT });
  return { code: done.status, out: done.stdout, err: done.stderr };
}

/** Starts the compiled program and leaves it running. */
export function started(data: string, ...words: string[]): ChildProcess {
  return spawn(process.execPath, [CLI, '--data', data, ...words], {
    stdio: ['pipe', 'pipe', 'pipe'],
    env: ENVIRONMENT,
  });
}

/**
 * Runs the program to its end when nobody disturbs it.
 * @returns what it answered, and how long it takes on this machine, in milliseconds: what kills are spread over, so that
 *   they hit its work on a fast machine and on a slow one.
 */
export async function wholeLife(
  data: string,
  words: readonly string[],
  input = '',
): Promise<{ answer: string; ms: number }> {
  const begun = performance.now();
  const child = started(data, ...words);
  child.stdin!.end(input);
  child.stderr!.resume();
  const answer = readToEnd(child.stdout!);
  const [code] = (await once(child, 'close')) as [number | null];
  expect(code).toBe(0);
  return { answer: answer(), ms: performance.now() - begun };
}

/**
 * Runs the program and kills it without warning.
 * @param moment after so many milliseconds, or as soon as what it answered is this.
 * @returns what it had answered by then; an act that it acknowledged must be there afterwards.
 */
export async function killedAt(
  moment: number | ((answer: string) => boolean),
  data: string,
  words: readonly string[],
  input = '',
): Promise<string> {
  const child = started(data, ...words);
  child.stdin!.on('error', () => undefined).end(input);
  child.stderr!.resume();
  const answer = readToEnd(child.stdout!);
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  const come = typeof moment === 'number' ? sleep(moment) : answers(child.stdout!, () => moment(answer()));
  await Promise.race([ended, come]);
  child.kill('SIGKILL');
  await ended;
  return answer();
}

const answers = (stream: Readable, isCome: () => boolean): Promise<void> =>
  new Promise((resolve) => stream.on('data', () => isCome() && resolve()));

/** @returns what tells all that came until now. */
function readToEnd(stream: Readable): () => string {
  let text = '';
  stream.setEncoding('utf8').on('data', (more: string) => {
    text += more;
  });
  return () => text;
}

/** Moments spread over the life of a command, between its start, when it only loads, and its end. */
export function momentsOf(kills: number, wholeMs: number): number[] {
  return Array.from({ length: kills }, (_, kill) => wholeMs * (0.2 + (0.8 * (kill + 1)) / (kills + 1)));
}

export const isLong = Boolean(process.env.LOTWRIGHT_TEST_LONG);

/** How often a suite kills: in the long run as often as LOTWRIGHT_KILLS says, where that is said. */
export const killsOf = (inLongRun: number, daily: number): number =>
  isLong ? Number(process.env.LOTWRIGHT_KILLS ?? inLongRun) : daily;

/** In the long run: a line of figures, for docs/validation.md. */
export function tellFigures(line: string): void {
  if (isLong) console.log(line);
}

/** The same of one kind of act. */
export const tellKills = (act: string, kills: number, acknowledged: number): void =>
  tellFigures(`${act}: ${kills} kills, ${acknowledged} behind the acknowledgement, all whole afterwards`);
