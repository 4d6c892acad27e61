import { systemClock } from '../base/clock.js';
import { BadInputError, type Problem } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { RECORDER_LINES, type RecorderTold } from '../report/phrases/commands/recorder.js';
import { Agent } from './agent.js';
import { record } from './record.js';
import { Recording } from './recording.js';

interface LogStreamOptions {
  readonly out: string;
  readonly oldest?: boolean;
  readonly interval: string;
  readonly heartbeat: string;
  readonly count: string;
}

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 30_000;

export async function run(out: Output, _: CommonOptions, url: string, options: LogStreamOptions): Promise<number> {
  const asked = {
    intervalMs: wholeNumber('--interval', options.interval, 10, 60_000),
    heartbeatMs: wholeNumber('--heartbeat', options.heartbeat, 100, 300_000),
    count: wholeNumber('--count', options.count, 1, 500_000),
  };
  const agent = Agent.at(url, asked);
  const recording = Recording.at(options.out, agent.address);
  const ending = new AbortController();
  const end = () => ending.abort();
  for (const name of ['SIGINT', 'SIGTERM'] as const) process.once(name, end);
  const lostBefore = recording.lost.length;
  out.line(RECORDER_LINES.records(agent.address, options.out));
  const settings = {
    from: options.oldest ? ('oldest' as const) : ('now' as const),
    ...{ intervalMs: asked.intervalMs, firstWaitMs: FIRST_WAIT_MS, longestWaitMs: LONGEST_WAIT_MS },
    now: () => systemClock.now(),
    tell: (told: RecorderTold) => out.line(RECORDER_LINES.told(told)),
  };
  try {
    await record(agent, recording, settings, ending.signal);
  } finally {
    for (const name of ['SIGINT', 'SIGTERM'] as const) process.off(name, end);
  }
  const { files, lost } = recording;
  out.line(
    RECORDER_LINES.ended(
      files.length,
      files.reduce((sum, { observations }) => sum + observations, 0),
    ),
  );
  out.object({ agent: agent.address, files, lost });
  return lost.length > lostBefore ? 4 : 0;
}

function wholeNumber(field: string, text: string, least: number, most: number): number {
  const value = /^\d{1,9}$/.test(text) ? Number(text) : Number.NaN;
  if (value >= least && value <= most) return value;
  const expected = `a whole number from ${least} to ${most}`;
  throw new BadInputError([{ code: 'option', field, found: text, expected, remedy: 'give another' } satisfies Problem]);
}
