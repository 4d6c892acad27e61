import type { RecordedEvent } from '../ledger/event.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { Reads } from '../store/reads.js';
import { latestRetention, type Retention, retentionOf } from './retention.js';

/** How long the records of a lot are kept, and by which rule. @throws NotFoundError when there is no such lot. */
export async function retentionOfLot(read: Reads, code: string): Promise<Retention> {
  const revision = await read.entries.currentOrThrow('lot', code);
  const lot = revision.body;
  const family = (await read.entries.currentOrThrow('family', lot.family)).body;
  const releases = await releasesOfFamily(read, lot.family);
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

/** The audit trail is kept as long as the last of the records that it covers; undefined while there is no lot. */
export async function retentionOfTrail(read: Reads): Promise<Retention | undefined> {
  const all: Retention[] = [];
  for (const lot of await read.entries.list('lot')) all.push(await retentionOfLot(read, lot.key));
  return latestRetention(all);
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

/** A revoked release counts too: the unit had left. */
async function releasesOfFamily(read: Reads, family: string): Promise<Release[]> {
  const found: Release[] = [];
  for (const { key, body } of await read.entries.list('lot')) {
    const lot = body;
    if (lot.family !== family) continue;
    const serials = lot.implants.map((implant) => implant.serial);
    for (const { decision, statement } of await unitStatesOf(read, key, serials)) {
      if (statement && (decision === 'released' || decision === 'revoked')) {
        found.push({ lot: key, day: statement.at.slice(0, 10) });
      }
    }
  }
  return found;
}

const lastDay = (releases: readonly Release[]): string | null =>
  releases
    .map(({ day }) => day)
    .sort()
    .at(-1) ?? null;
