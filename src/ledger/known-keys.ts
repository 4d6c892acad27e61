import type { RecordedEvent } from './event.js';
import { type ChainedKey, chainOf } from './key-chain.js';
import { PersonKeyWalk } from './person-keys.js';
import { RolesHeld } from './roles-held.js';
import { ACTS_ON_ACCOUNTS, Administrators, type RecordedAct } from './signed-acts.js';
import type { KnownKeys } from './signed-statement.js';

/** Events from which keys and roles follow. */
export const KEY_EVENTS = ['key-made', 'person-key-made', 'invitation-made', ...ACTS_ON_ACCOUNTS] as const;

const ON_ACCOUNTS: ReadonlySet<string> = new Set(ACTS_ON_ACCOUNTS);

/** Keys that events name as those of the installation. */
export const installationKeysIn = (events: readonly Pick<RecordedEvent, 'event'>[]): ChainedKey[] =>
  events.flatMap(({ event }) => (event.type === 'key-made' && event.purpose === 'installation' ? [event] : []));

/** Finds them once as long as they follow from the same events, which are compared as they are in memory. */
export class LastKnownKeys {
  private last: { readonly from: readonly RecordedEvent[]; readonly known: KnownKeys } | undefined;

  of(events: readonly RecordedEvent[]): KnownKeys {
    const { last } = this;
    const isSame =
      last?.from.length === events.length && events.every((event, index) => areSame(event, last.from[index]!));
    if (last === undefined || !isSame) this.last = { from: events, known: knownKeysFrom(events) };
    return this.last!.known;
  }
}

const areSame = (one: RecordedEvent, other: RecordedEvent): boolean =>
  one.event === other.event &&
  one.ledgerSeq === other.ledgerSeq &&
  one.at === other.at &&
  one.offset === other.offset &&
  one.actor === other.actor &&
  one.reason === other.reason;

/**
 * Keys that count, and who held which role: each act on accounts is held against the keys before it, and each first key
 * against who was an administrator when its link was made.
 * @param events in the order of the ledger; those that say nothing of keys are passed over.
 * @param chain keys of the installation that follow from the first one.
 */
export function knownKeysFrom(
  events: readonly RecordedAct[],
  chain: readonly ChainedKey[] = chainOf(installationKeysIn(events)).keys,
): KnownKeys {
  const installation = new Map(chain.map(({ fingerprint, publicPem }) => [fingerprint, publicPem]));
  const people = new PersonKeyWalk(installation);
  const administrators = new Administrators();
  const offering = new Map<string, ReadonlySet<string>>();
  const acts: RecordedAct[] = [];
  for (const told of events) {
    const { event, ledgerSeq: at } = told;
    if (event.type === 'invitation-made') {
      offering.set(event.link, offering.get(event.link) ?? new Set(administrators.codes));
    } else if (event.type === 'person-key-made') {
      const { type, ...key } = event;
      people.add(key, at, (person) => offering.get(key.link ?? '')?.has(person) === true);
    } else if (ON_ACCOUNTS.has(event.type) && administrators.faultOf(told, { people }) === undefined) {
      acts.push(told);
      if (event.type === 'account-closed') people.close(event.person, at);
    }
  }
  return { installation, people, roles: RolesHeld.from(acts) };
}
