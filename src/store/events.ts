import { AppError } from '../base/errors.js';
import { parseForm } from '../base/later-form.js';
import type { Stamp } from '../base/stamp.js';
import { canonicalJson } from '../dossier/canonical.js';
import { ACCOUNT_EVENTS, Event, type RecordedEvent, subjectOfEvent } from '../ledger/event.js';
import type { ChainedKey } from '../ledger/key-chain.js';
import { installationKeysIn, KEY_EVENTS, LastKnownKeys } from '../ledger/known-keys.js';
import { type Passkey, type PasskeyEnd, type PasskeyNamed, passkeysOf } from '../ledger/passkey.js';
import { currentOf } from '../ledger/person-keys.js';
import {
  ACTS_ON_ACCOUNTS,
  actText,
  faultsOfActs,
  faultyAmong,
  keyHasGone,
  type RecordedAct,
  type Signer,
} from '../ledger/signed-acts.js';
import type { KnownKeys } from '../ledger/signed-statement.js';
import { KEEPS_BACK } from '../ledger/times-in-order.js';
import type { Db } from './db.js';
import type { EventRow } from './event-row.js';
import type { Question, Value } from './instruction.js';
import type { KnownHead } from './read-log.js';
import { ReadOnce } from './read-once.js';
import { readable } from './readable.js';
import type { Recorder } from './recorder.js';

const PASSKEY_EVENTS = ['passkey-made', 'passkey-ended'] as const;

const GUARDED: ReadonlySet<string> = new Set([
  ...ACCOUNT_EVENTS,
  ...PASSKEY_EVENTS,
  'passkey-used',
  'administrator-link-made',
  'person-key-made',
]);

/** Who may act follows from all events on accounts, at each act anew. */
const READ = new ReadOnce<Event>(4000);
const KEYS = new LastKnownKeys();

/**
 * What happened to things, in the order of recording. What a change reads decides what may be done next: there each act of a
 * person must be signed by them, and one that is not stops the act.
 */
export class Events<R = unknown> {
  /** @param guard holds what accounts follow from against the audit trail; absent where only other events are read. */
  constructor(
    private readonly db: Db<R>,
    private readonly guard?: (rows: readonly EventRow[]) => Promise<void>,
  ) {}

  /** Everything that was recorded about one thing. */
  of(subject: { kind: string; key: string }): Promise<RecordedEvent[]> {
    return this.asked(this.db.sql.EVENTS_OF, subject.kind, subject.key);
  }

  /**
   * The same, each held against the entry that recorded it.
   * @throws AppError ALTERED for one that is not what the audit trail recorded.
   */
  async recordedOf({ kind, key }: { kind: string; key: string }): Promise<RecordedEvent[]> {
    const found = await this.db.ask(this.db.sql.EVENTS_OF, kind, key);
    await this.guard?.(found);
    return this.demanded(found);
  }

  /** @throws AppError ALTERED for an event on accounts that is not what the audit trail recorded. */
  async ofTypes(types: readonly Event['type'][]): Promise<RecordedEvent[]> {
    const areAll = ACTS_ON_ACCOUNTS.every((type) => types.includes(type));
    return this.demanded(await this.db.ask(this.db.sql.EVENTS_OF_TYPES, JSON.stringify(types)), areAll);
  }

  /** The one that was recorded last; undefined before the first. */
  async lastOfType(type: Event['type']): Promise<RecordedEvent | undefined> {
    return (await this.read(await this.db.ask(this.db.sql.LAST_EVENT_OF_TYPE, type)))[0];
  }

  /** The one that an entry of the ledger recorded. */
  async at(subject: { kind: string; key: string }, ledgerSeq: number): Promise<RecordedEvent | undefined> {
    return (await this.asked(this.db.sql.EVENTS_AT, subject.kind, subject.key, ledgerSeq))[0];
  }

  /** Grows with every event: what was derived from events holds while it stays. */
  async lastId(): Promise<number> {
    const [last] = await this.db.ask(this.db.sql.lastIdOf('Event'));
    return Number(last!.id);
  }

  /** Keys that are named as those of this installation, oldest first. `chainOf` tells which of them are. */
  async installationKeys(): Promise<ChainedKey[]> {
    return installationKeysIn(await this.ofTypes(['key-made']));
  }

  /** Keys of people and of the installation that follow from the first ones, and who held which role, by entries. */
  async knownKeys(): Promise<KnownKeys> {
    const found = await this.db.ask(this.db.sql.EVENTS_OF_TYPES, JSON.stringify(KEY_EVENTS));
    return KEYS.of(await this.read(found));
  }

  /** Passkeys that count, of everybody. */
  async passkeys(): Promise<readonly Passkey[]> {
    const { people } = await this.knownKeys();
    return passkeysOf((await this.ofTypes(PASSKEY_EVENTS)).flatMap(passkeyNamedBy), people).passkeys;
  }

  /** Where the counter of a passkey stood when it was used last; undefined before its first use. */
  async passkeyCounter(credential: string): Promise<number | undefined> {
    const found = await this.db.ask(this.db.sql.LAST_EVENT_OF, 'passkey', credential, 'passkey-used');
    const [last] = await this.read(found);
    return last?.event.type === 'passkey-used' ? last.event.counter : undefined;
  }

  /** The head that was given to a witness last; undefined when none was. */
  async lastWitnessed(): Promise<Extract<Event, { type: 'head-witnessed' }> | undefined> {
    const events = await this.ofTypes(['head-witnessed']);
    return events.flatMap(({ event }) => (event.type === 'head-witnessed' ? [event] : [])).at(-1);
  }

  /** What was told of the files in which it is noted who read what, by file, oldest first. */
  async readsHeads(): Promise<Map<string, (KnownHead & { readonly ledgerSeq: number })[]>> {
    const heads = new Map<string, (KnownHead & { readonly ledgerSeq: number })[]>();
    for (const { event, ledgerSeq } of await this.ofTypes(['reads-noted'])) {
      if (event.type === 'reads-noted')
        heads.set(event.file, [...(heads.get(event.file) ?? []), { ...event, ledgerSeq }]);
    }
    return heads;
  }

  async add(this: Events<Recorder>, event: Event, reason?: string): Promise<void> {
    const body = canonicalJson(Event.parse(event));
    const subject = subjectOfEvent(event);
    const why = reason === undefined ? {} : { reason };
    await this.db.recorder.record(
      { type: 'event-recorded', event: event.type, subject, ...why },
      { Event: [{ type: event.type, subjectKind: subject.kind, subjectKey: subject.key, body, reason }] },
    );
  }

  /**
   * When the next entry is recorded, for what is signed in it. No signature, and no act of a person that lets something go,
   * claims a time before one that the audit trail has. The latest of all counts, not that of the last entry, which somebody
   * may have made after they set the clock back.
   * @throws AppError REFUSED when that is so.
   */
  async timeToSign(this: Events<Recorder>): Promise<Stamp> {
    const { at: utc, offset } = this.db.recorder.nextPlace;
    const [latest] = await this.db.ask(this.db.sql.LATEST_TIME);
    if (latest?.at == null || latest.at <= utc) return { utc, offset };
    throw new AppError(
      'REFUSED',
      `the clock of this machine (${utc}) stands before an entry of the audit trail (${latest.at}): one of the two times is wrong`,
    );
  }

  /**
   * Records an act that these people sign with their keys.
   * @throws AppError REFUSED when a key is not in use any more, or the clock was set back and the act keeps nothing back.
   */
  async act(this: Events<Recorder>, event: Event, signers: readonly Signer[], reason?: string): Promise<void> {
    const { keys } = (await this.knownKeys()).people;
    if (signers.some(({ person, fingerprint }) => currentOf(keys, person)?.fingerprint !== fingerprint)) {
      throw keyHasGone();
    }
    const { seq: ledgerSeq, ...place } = this.db.recorder.nextPlace;
    if (!KEEPS_BACK.has(event.type)) await this.timeToSign();
    const text = actText({ event, ledgerSeq, ...place, reason: reason ?? null });
    const signatures = signers.map((own) => ({ person: own.person, key: own.fingerprint, signature: own.sign(text) }));
    await this.add({ ...event, signatures } as Event, reason);
  }

  /**
   * Refuses acts that their people did not sign.
   * @param areAll whether all acts on accounts are among them: then who was an administrator follows from them.
   * @throws AppError ALTERED naming entry and person.
   */
  async demand(events: readonly RecordedEvent[], areAll = false): Promise<void> {
    if (events.length === 0) return;
    const known = await this.knownKeys();
    const [faulty] = areAll ? faultsOfActs(events, known) : faultyAmong(events, known);
    if (faulty === undefined) return;
    const { event, ledgerSeq, actor } = faulty.act;
    throw new AppError(
      'ALTERED',
      `the act of ${actor} in entry ${ledgerSeq} (${event.type}) does not hold (${faulty.fault}): run ledger verify`,
    );
  }

  private async asked<Values extends readonly Value[]>(
    question: Question<Values, EventRow>,
    ...values: Values
  ): Promise<RecordedEvent[]> {
    return this.demanded(await this.db.ask(question, ...values));
  }

  private async demanded(found: readonly EventRow[], areAll = false): Promise<RecordedEvent[]> {
    const events = await this.read(found);
    if (this.db.recorder !== undefined) await this.demand(events, areAll);
    return events;
  }

  private async read(found: readonly EventRow[]): Promise<RecordedEvent[]> {
    await this.guard?.(found.filter(({ type }) => GUARDED.has(type)));
    return found.map((row) => ({
      event: readable(`event ${row.id}, ${row.type} of ${row.subjectKind} ${row.subjectKey},`, () =>
        READ.of(row.body, () => parseForm(`event ${row.id}, ${row.type},`, Event, JSON.parse(row.body))),
      ),
      at: row.recordedAt,
      offset: row.recordedOffset,
      actor: row.actor,
      reason: row.reason,
      ledgerSeq: row.ledgerSeq,
    }));
  }
}

/** What an event says of passkeys, with its place in the ledger. */
export function passkeyNamedBy({ event, ledgerSeq: at }: RecordedAct): PasskeyNamed[] {
  if (event.type !== 'passkey-made' && event.type !== 'passkey-ended') return [];
  const { type, ...said } = event;
  return [type === 'passkey-made' ? { made: said as Passkey, at } : { ended: said as PasskeyEnd, at }];
}
