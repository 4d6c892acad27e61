import fs from 'node:fs';
import { NotFoundError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { Agent } from './agent.js';
import { mapText, proposeMap } from './propose-map.js';
import { readDevices } from './read-devices.js';

interface ChannelMapOptions {
  readonly machine: string;
  readonly code: string;
  readonly device?: string;
}

const ASKED = { intervalMs: 1000, heartbeatMs: 10_000, count: 1 };

export async function run(out: Output, _: CommonOptions, from: string, options: ChannelMapOptions): Promise<number> {
  const proposed = proposeMap(readDevices(from, await bytesOf(from)), options);
  out.line(mapText(proposed).trimEnd());
  out.object(proposed);
  return 0;
}

async function bytesOf(from: string): Promise<Buffer> {
  if (/^https?:/i.test(from)) return Agent.at(from, ASKED).probe(new AbortController().signal);
  if (!fs.existsSync(from)) throw new NotFoundError('file', from, 'here');
  return fs.readFileSync(from);
}
