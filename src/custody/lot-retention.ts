import type { RecordedEvent } from '../ledger/event.js';
import { type Retention, retentionOf } from '../report/retention.js';
import type { Reads } from '../store/repositories.js';

/** How long the records of a lot are kept, and by which rule. @throws NotFoundError when there is no such lot. */
export async function retentionOfLot(read: Reads, code: string): Promise<Retention> {
  const { family } = (await read.entries.currentOrThrow('lot', code)).body;
  return retentionAmong(read, code, await releasesOfFamily(read, family));
}

/** The same of every lot, by its code. What was released of a family is read once for all of its lots. */
export async function retentionOfAll(read: Reads): Promise<Map<string, Retention>> {
  const releases = new Map<string, Release[]>();
  const all = new Map<string, Retention>();
  for (const { key, body } of await read.entries.list('lot')) {
    if (!releases.has(body.family)) releases.set(body.family, await releasesOfFamily(read, body.family));
    all.set(key, await retentionAmong(read, key, releases.get(body.family)!));
  }
  return all;
}

/** @param releases of all lots of the family. */
async function retentionAmong(read: Reads, code: string, releases: readonly Release[]): Promise<Retention> {
  const revision = await read.entries.currentOrThrow('lot', code);
  const family = (await read.entries.currentOrThrow('family', revision.body.family)).body;
  const events = await read.events.of({ kind: 'lot', key: code });
  const own = releases.filter((release) => release.lot === code);
  return retentionOf({
    family,
    releasedOn: lastDay(own),
    lastRecordedOn: [revision.recordedAt, ...events.map(({ at }) => at)].sort().at(-1)!.slice(0, 10),
    familyLastReleasedOn: lastDay(releases),
    revoked: events.some(({ event }) => event.type === 'release-revoked'),
    legalHold: legalHoldFrom(events),
  });
}

/** The legal hold that lies on a lot now, from its events in order. */
export function legalHoldFrom(events: readonly RecordedEvent[]): { since: string; reason: string } | null {
  const last = events.findLast(({ event }) => event.type.startsWith('legal-hold-'));
  if (last?.event.type !== 'legal-hold-placed') return null;
  return { since: last.at.slice(0, 10), reason: last.reason ?? '' };
}

interface Release {
  readonly lot: string;
  readonly day: string;
}

/** A release for distribution, a revoked one too: the unit had left. What is released for an earlier step has not. */
async function releasesOfFamily(read: Reads, family: string): Promise<Release[]> {
  const found: Release[] = [];
  for (const { key, body } of await read.entries.list('lot')) {
    const lot = body;
    if (lot.family !== family) continue;
    for (const { signed } of await read.signatures.of({ kind: 'lot file', key })) {
      const { step, at } = signed.statement;
      if (step === 'distribution') found.push({ lot: key, day: at.slice(0, 10) });
    }
  }
  return found;
}

const lastDay = (releases: readonly Release[]): string | null =>
  releases
    .map(({ day }) => day)
    .sort()
    .at(-1) ?? null;
