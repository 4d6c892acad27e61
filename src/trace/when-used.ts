import { z } from 'zod';
import { closuresOf } from '../kinds/build-chain.js';
import { ALL_KINDS } from '../kinds/catalogue.js';
import { timesThatHappened } from '../kinds/happened.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import { resultKey } from '../kinds/result.js';
import type { TieName } from '../kinds/ties.js';
import type { Reads } from '../store/repositories.js';
import type { Reach } from '../store/traces.js';

/** When something was used: from its first moment to its last, in milliseconds. */
export interface Used {
  readonly from: number;
  readonly to: number;
}

export const NO_USES: ReadonlyMap<number, Used> = new Map();

/** Whether a part of a use lies between two moments; undefined for what is no use. */
export const isWithin = (used: Used | undefined, first: number, last: number): boolean | undefined =>
  used && used.to >= first && used.from <= last;

/** Kinds that tell of a use: something that was done at a time, and not a thing that lasts. */
const USES = [
  ...['build', 'act', 'process-load', 'changeover', 'exposure', 'handover', 'outcome', 'unit-return', 'complaint'],
  ...['disposal', 'unit-move', 'risk-build'],
];

/** A part names its recipe by itself, and used it when its builds were run. */
const BY_RECIPE = 'built by recipe' satisfies TieName;

/**
 * By the number of the entry: when each use among them happened. Things that last have no moment, and are left out, but for
 * implants and coupons of a recipe that was asked for.
 */
export async function whenUsed(read: Reads, { entries, ties }: Reach): Promise<Map<number, Used>> {
  const found = new Map<number, Used>();
  const documents = await read.identified.documents(
    entries.filter(({ kind }) => USES.includes(kind)).map(({ id }) => id),
  );
  for (const [id, { kind, body }] of documents) {
    const used = spanOf(timesOf(kind, body()));
    if (used) found.set(id, used);
  }
  const asked = new Set(entries.flatMap(({ id, depth }) => (depth === 0 ? [id] : [])));
  const made = ties.flatMap(({ name, source, target }) => (name === BY_RECIPE && asked.has(target) ? [source] : []));
  for (const [id, used] of await whenMade(read, made)) found.set(id, used);
  const results = new Map(entries.flatMap(({ id, kind, key }) => (kind === 'result' ? [[key, id] as const] : [])));
  const lots = new Set([...results.keys()].map((key) => key.slice(0, key.indexOf(':'))));
  for (const lot of lots) {
    const times = new Map<string, string[]>();
    for (const row of await read.results.current(lot)) {
      const key = resultKey(row);
      if (results.has(key)) times.set(key, [...(times.get(key) ?? []), row.startedAt, row.measuredAt]);
    }
    for (const [key, all] of times) {
      const used = spanOf(all);
      if (used) found.set(results.get(key)!, used);
    }
  }
  return found;
}

async function whenMade(read: Reads, parts: readonly number[]): Promise<Map<number, Used>> {
  const times = new Map<string, string[]>();
  const found = new Map<number, Used>();
  for (const [id, { body }] of await read.identified.documents(parts)) {
    const builds = closuresOf(body() as Implant | Coupon);
    for (const build of builds) {
      if (times.has(build)) continue;
      const stored = await read.entries.current('build', build);
      times.set(build, stored === undefined ? [] : timesOf('build', stored.body));
    }
    const used = spanOf(builds.flatMap((build) => times.get(build)!));
    if (used) found.set(id, used);
  }
  return found;
}

function timesOf(kind: string, body: unknown): string[] {
  if (kind === 'act') return [ActMoment.parse(body).at];
  const schema = ALL_KINDS.find((known) => known.kind === kind)?.schema;
  return schema === undefined ? [] : timesThatHappened(schema, body).map(({ time }) => time);
}

/** What is known of an act beside whoever did it. */
const ActMoment = z.object({ at: z.string() });

/** A day counts from its first moment to its last. */
function spanOf(times: readonly string[]): Used | undefined {
  const told = times.filter((time) => time !== '');
  if (told.length === 0) return undefined;
  const isDay = (time: string) => time.length === 'yyyy-mm-dd'.length;
  return {
    from: Math.min(...told.map((time) => Date.parse(time))),
    to: Math.max(...told.map((time) => Date.parse(isDay(time) ? `${time}T23:59:59.999Z` : time))),
  };
}
