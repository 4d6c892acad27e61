import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

export const CLI = path.resolve('dist', 'cli.js');

const { NODE_OPTIONS: _unused, ...ENVIRONMENT } = process.env;

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
 * How long the program takes on this machine when nobody disturbs it, in milliseconds: what kills are spread over, so
 * that they hit its work on a fast machine and on a slow one.
 */
export async function lifeMs(data: string, words: readonly string[], input = ''): Promise<number> {
  const begun = performance.now();
  const child = started(data, ...words);
  child.stdin!.end(input);
  child.stdout!.resume();
  child.stderr!.resume();
  const [code] = (await once(child, 'close')) as [number | null];
  expect(code).toBe(0);
  return performance.now() - begun;
}

/**
 * Runs the program and kills it without warning after a time.
 * @returns what it had answered by then; an act that it acknowledged must be there afterwards.
 */
export async function killedAfter(ms: number, data: string, words: readonly string[], input = ''): Promise<string> {
  const child = started(data, ...words);
  child.stdin!.on('error', () => undefined).end(input);
  child.stderr!.resume();
  let answer = '';
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    answer += text;
  });
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  await Promise.race([ended, sleep(ms)]);
  child.kill('SIGKILL');
  await ended;
  return answer;
}

/** Moments spread over the life of a command, from its start to after its end. */
export function momentsOf(kills: number, wholeMs: number): number[] {
  return Array.from({ length: kills }, (_, kill) => wholeMs * (0.2 + (0.9 * kill) / Math.max(1, kills - 1)));
}
