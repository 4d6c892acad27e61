import type Database from 'better-sqlite3';
import type { Anchor } from '../../ledger/anchor.js';
import { Event, subjectOfEvent } from '../../ledger/event.js';
import { type ChainedKey, chainOf } from '../../ledger/key-chain.js';
import { installationKeysIn, KEY_EVENTS, knownKeysFrom } from '../../ledger/known-keys.js';
import { passkeysOf } from '../../ledger/passkey.js';
import { ACTS_OF_PEOPLE, faultsOfActs, type RecordedAct } from '../../ledger/signed-acts.js';
import type { KnownKeys } from '../../ledger/signed-statement.js';
import type { StampedHead } from '../../ledger/time-fault.js';
import { passkeyNamedBy } from '../events.js';
import type { AddFault } from './file-audit.js';
import { KEYS_AND_ACTS } from './row-check.js';

/**
 * Follows the keys of the installation and of people, and names each that does not count, each act that its people did not
 * sign or might not do, and each passkey that is not of its person. Gives the heads that an authority stamped beside them.
 * @param anchor what is kept of keys outside the database, where it can be read.
 */
export function auditKeys(
  db: Database.Database,
  anchor: Anchor | undefined,
  add: AddFault,
): { readonly keys: readonly ChainedKey[]; readonly known: KnownKeys; readonly stamps: readonly StampedHead[] } {
  const told = (db.prepare(KEYS_AND_ACTS).all(JSON.stringify(TOLD)) as ActRow[]).flatMap(actIn);
  const { keys, faults } = chainOf(installationKeysIn(told), anchor);
  for (const { fingerprint, fault } of faults) {
    add({ kind: 'key', key: fingerprint, revision: null }, null, {
      code: 'key not of the chain',
      facts: { fault },
    });
  }
  const known = knownKeysFrom(told, keys);
  for (const { key, fault } of known.people.faults) {
    const { person, name, fingerprint } = key;
    const seq = told.find(({ event }) => event.type === 'person-key-made' && event.fingerprint === fingerprint);
    add({ kind: 'key', key: fingerprint, revision: null }, seq?.ledgerSeq ?? null, {
      code: 'key of a person not endorsed',
      facts: { person: `${name} (${person})`, fault },
    });
  }
  for (const { act, fault } of faultsOfActs(told, known)) {
    const { kind, key } = subjectOfEvent(act.event);
    const facts = { by: act.actor, event: act.event.type, fault };
    add({ kind, key, revision: null }, act.ledgerSeq, { code: 'act does not hold', facts });
  }
  for (const one of passkeysOf(told.flatMap(passkeyNamedBy), known.people).unsigned) {
    const { person } = 'made' in one ? one.made : one.ended;
    add({ kind: 'account', key: person, revision: null }, one.at, { code: 'passkey not by its person' });
  }
  const stamps = told.flatMap(({ event }) => (event.type === 'head-witnessed' && event.token !== null ? [event] : []));
  return { keys, known, stamps };
}

const TOLD = [
  ...new Set([...KEY_EVENTS, 'anchor-renewed', 'head-witnessed', 'passkey-made', 'passkey-ended', ...ACTS_OF_PEOPLE]),
];

type ActRow = Omit<RecordedAct, 'event'> & { readonly body: string };

/** A key whose text was damaged is none: what it signed is then named, and so is its event. */
function actIn({ body, ...place }: ActRow): RecordedAct[] {
  try {
    return [{ event: Event.parse(JSON.parse(body)), ...place }];
  } catch {
    return [];
  }
}
