import fs from 'node:fs';
import path from 'node:path';
import { Random } from '../../base/random.js';
import { Agent } from '../../recorder/agent.js';
import { record } from '../../recorder/record.js';
import { Recording } from '../../recorder/recording.js';
import { LOG_CHANNELS, type LogDesign, type LogRow, logRows, openedAtMs } from '../log.js';
import { type Document, FICTION, MACHINE } from '../names.js';
import { type Observed, PlayedAgent } from '../played-agent.js';

/** The build of the pins as its machine tells it: by an agent of MTConnect, recorded hour by hour. */

export const PIN_MAP = { map: 'HC-1-MT', revision: 1 };

/** Each channel as the machine names and reports it; its pressure in pascal. */
const REPORTED: Readonly<
  Record<(typeof LOG_CHANNELS)[number], Pick<Observed, 'component' | 'name' | 'element'> & { ucum: string }>
> = {
  oxygen: { component: 'Environmental', name: 'chamber', element: 'Concentration', ucum: '[ppm]' },
  moisture: { component: 'Environmental', name: 'chamber', element: 'Concentration', ucum: '[ppm]' },
  laser_power: { component: 'Deposition', name: 'head', element: 'Wattage', ucum: 'W' },
  chamber_pressure: { component: 'Environmental', name: 'chamber', element: 'Pressure', ucum: 'Pa' },
  powder_flow: { component: 'Deposition', name: 'head', element: 'Flow', ucum: 'g/min' },
  needle_force: { component: 'Linear', name: 'needle', element: 'LinearForce', ucum: 'N' },
  spindle_speed: { component: 'Rotary', name: 'spindle', element: 'RotaryVelocity', ucum: '/min' },
};
const itemOf = (channel: string): string => `${channel.replaceAll('_', '-')}-1`;
const [LAYER, PART, PROGRAM] = ['layer-1', 'part-1', 'program-1'] as const;
const programOf = (step: string): string => `${step.toUpperCase()}.NC`;
const STEPS = ['deposit', 'peen', 'mill'] as const;

export const pinChannelMap: Document = {
  ...{ kind: 'channel-map', format: 1, ...PIN_MAP, title: `What the agent of ${MACHINE} tells, ${FICTION}` },
  ...{ machine: MACHINE, source: 'MTConnect streams', everySequence: 'yes' },
  channels: LOG_CHANNELS.map((channel) => ({ dataItem: itemOf(channel), channel, ucum: REPORTED[channel].ucum })),
  place: { layer: LAYER, zone: PART, step: PROGRAM },
  steps: STEPS.map((step) => ({ reported: programOf(step), step })),
};

const PASCALS_IN_MBAR = 100;

/** Samples at each time, and what holds for longer only when it changes. */
export function observedOf(rows: readonly LogRow[]): Observed[] {
  const path = { component: 'Path', name: 'path', category: 'Events' } as const;
  const held = new Map<string, string>();
  return rows.flatMap(({ atMs, layer, zone, step, values }) => {
    const events = [
      { ...path, element: 'MaterialLayer', dataItem: LAYER, atMs, value: String(layer) },
      { ...path, element: 'PartId', dataItem: PART, atMs, value: zone },
      { ...path, element: 'Program', dataItem: PROGRAM, atMs, value: programOf(step) },
    ].filter(({ dataItem, value }) => held.get(dataItem) !== value);
    for (const { dataItem, value } of events) held.set(dataItem, value);
    const samples = LOG_CHANNELS.map((channel, index): Observed => {
      const { ucum, ...reported } = REPORTED[channel];
      const value = values[index]!;
      const said = ucum === 'Pa' ? (PASCALS_IN_MBAR * Number(value)).toFixed(0) : value;
      return { ...reported, category: 'Samples', dataItem: itemOf(channel), atMs, value: said };
    });
    return [...events, ...samples];
  });
}

/** How the log of a build stands in a lot, and its files by their names in the folder of the lot. */
export interface LoggedBuild {
  readonly log: Document;
  readonly files: Readonly<Record<string, Buffer>>;
}

/** The agent was started on the day before the build. */
const STARTED = '2026-11-08T05:00:00Z';
const POLLED_MS = 600_000;
const ASKED = { intervalMs: 0, heartbeatMs: 1000, count: 500 };

/**
 * Plays the machine and records what its agent tells, as `log-stream` does.
 * @param folder where the recording is written, with its index.
 */
export async function recordBuild(design: LogDesign, run: number, folder: string): Promise<LoggedBuild> {
  const agent = new PlayedAgent({
    ...{ device: MACHINE, instance: String(Date.parse(STARTED) / 1000) },
    observed: observedOf(logRows(design, new Random(run), new Random(2000 + run))),
    ...{ fromMs: design.closedAtMs, untilMs: openedAtMs(design), stepMs: POLLED_MS },
  });
  const recording = await recordingOf(agent, path.join(folder, `${MACHINE}-${run}`));
  const files = recording.files.map(({ file }) => ({
    name: `logs/${file}`,
    bytes: fs.readFileSync(path.join(folder, file)),
  }));
  return {
    log: logOf(
      files.map(({ name }) => name),
      design.periodMs,
    ),
    files: Object.fromEntries(files.map(({ name, bytes }) => [name, bytes])),
  };
}

/** Records all that an agent tells, and lets it stand no longer than that. */
async function recordingOf(agent: PlayedAgent, base: string): Promise<Recording> {
  const ending = new AbortController();
  const options = { from: 'oldest', intervalMs: 0, firstWaitMs: 10, longestWaitMs: 100 } as const;
  try {
    const to = Agent.at(await agent.start(), ASKED);
    const recording = Recording.at(base, to.address);
    const done = record(to, recording, { ...options, now: agent.now, tell: () => {} }, ending.signal);
    await Promise.race([done, agent.over]);
    ending.abort();
    await done;
    return recording;
  } finally {
    ending.abort();
    await agent.stop();
  }
}

/** Which instruments of the chamber are behind a channel. */
const SENSORS: Readonly<Record<string, string>> = { oxygen: 'OX-1', moisture: 'HYG-1' };

/** The log of a build from one file or several; each is read by the map where it is a stream. */
function logOf(names: readonly string[], periodMs: number): Document {
  const channels = LOG_CHANNELS.map((channel) => {
    const instrument = SENSORS[channel];
    return { channel, ucum: REPORTED[channel].ucum, ...(instrument === undefined ? {} : { instrument }) };
  });
  const [file, ...more] = names;
  return {
    ...{ file, map: PIN_MAP, channels, nominalPeriodMs: periodMs, gapLimitMs: 5 * periodMs },
    ...(more.length === 0 ? {} : { more: more.map((name) => ({ file: name, map: PIN_MAP, channels })) }),
  };
}
