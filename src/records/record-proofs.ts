import { AppError } from '../base/errors.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import { isNearYearlyLimit } from '../kinds/route-rules.js';
import { courseOfLot } from '../ledger/course-of-lot.js';
import { readEntry } from '../ledger/entry.js';
import type { RecordedEvent } from '../ledger/event.js';
import type { ChainedKey } from '../ledger/key-chain.js';
import { actText } from '../ledger/signed-acts.js';
import type { TimeFault } from '../ledger/time-fault.js';
import { untimelyAmong } from '../ledger/times-in-order.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { placesOfLot } from '../lots/unit-places.js';
import { verdictChanges } from '../lots/verdict-changes.js';
import { loadOrMakeSeal, type Seal } from '../pdf/seal/seal.js';
import { actNameText } from '../report/phrases/acts.js';
import { conditionsText } from '../report/phrases/release-conditions.js';
import { sealOwner } from '../report/phrases/seal.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { Enclosure, type PlaceNote, type RecordIssue } from './enclosure.js';
import { carriedFor, isShown, shownSerials, statementsFor, statesFor } from './one-case.js';

/** What makes a record checkable by a stranger: who signed what, under which keys, and where it stands in the ledger. */
export type Proven = Pick<
  RecordIssue,
  'signatures' | 'keys' | 'people' | 'ledger' | 'seal' | 'earlier' | 'states' | 'places' | 'course'
> & {
  /** Until one implant is decided of which the record tells. */
  readonly draft: boolean;
};

/** The seal of the data folder, named in the ledger before its first use. */
export async function sealOf(store: Store): Promise<Seal> {
  const seal = loadOrMakeSeal(store.folder.path, store.clock, sealOwner(store.folder.demo));
  const { certificateSha256: fingerprint, certificatePem: publicPem } = seal;
  if ((await store.read.events.of({ kind: 'key', key: fingerprint })).length > 0) return seal;
  await store.change('program', async (change) => {
    if ((await change.events.of({ kind: 'key', key: fingerprint })).length > 0) return;
    const former = (await change.events.ofTypes(['key-made'])).flatMap(({ event }) =>
      event.type === 'key-made' && event.purpose === 'seal' ? [event.fingerprint] : [],
    );
    await change.events.add({
      type: 'key-made',
      purpose: 'seal',
      fingerprint,
      publicPem,
      replaces: former.at(-1) ?? null,
    });
  });
  return seal;
}

/** Whom a record is for. */
export interface Reader {
  /** The case for whose institution it is; null for a whole record. It tells of no other case. */
  readonly forCase: string | null;
  /** Whether it names an earlier record with this number. */
  tellsOf(number: string): boolean;
}

/**
 * Gathers signatures, keys, the signed head of the ledger with proofs for what the record rests on, and for each earlier
 * record of the lot that the ledger only grew since.
 * @throws AppError ALTERED when the database does not follow from what is kept outside it, or a person did not sign an act of
 *   theirs.
 */
export async function provenBy(
  store: Store,
  lot: string,
  { facts, ...assessed }: AssessedLot,
  seal: Seal,
  { forCase, tellsOf }: Reader,
): Promise<Proven> {
  const { read } = store;
  await store.compare();
  await store.whole.demandLot(lot);
  const onLot = await read.signatures.of({ kind: 'lot file', key: lot });
  const serials = shownSerials(facts.lot.body, forCase);
  const draft = (await unitStatesOf(read, lot, serials)).every(({ decision }) => decision === 'open');
  const signatures = statementsFor(
    onLot.map(({ signed }) => signed),
    facts.lot.body,
    forCase,
  );
  const carried = [...carriedFor(facts, forCase).signatures, ...signatures];
  const events = await read.events.of({ kind: 'lot', key: lot });
  await read.events.demand(events);
  const states = statesFor(statesOf(events), facts.lot.body, forCase);
  const signers = [
    ...carried.map(({ statement }) => statement.person.code),
    ...states.flatMap(({ signed }) => signed?.signatures.map(({ person }) => person) ?? []),
  ];
  const entries = await read.lotFiles.entries(assessed.dossierSha256, assessed.assessmentSha256);
  const proven = await underHead(store, { statements: carried, signers, entries, seal: draft ? null : seal });
  return {
    draft,
    signatures,
    ...proven,
    earlier: await earlierOf(store, lot, proven.ledger.size, tellsOf),
    states,
    course: courseOfLot(onLot, events),
    places: await placeNotes(read, facts.lot.body, forCase),
  };
}

/** What something that is issued rests on. */
export interface RestsOn {
  readonly statements: readonly SignedStatement[];
  /** Whose keys it carries. */
  readonly signers: readonly string[];
  /** Places in the ledger of what is no statement. */
  readonly entries: readonly number[];
  /** Null for a draft, which is not sealed. */
  readonly seal: Seal | null;
}

/**
 * The signed head of the ledger as it stands, with proofs of what something rests on, and the keys of whoever signed.
 * @throws AppError ALTERED for a statement that its person or the installation did not sign, or not when it says.
 */
export async function underHead(
  store: Store,
  { statements, signers, entries, seal }: RestsOn,
): Promise<Pick<Proven, 'keys' | 'people' | 'ledger' | 'seal'>> {
  const { read } = store;
  const digests = statements.map(({ digest }) => digest);
  await refuseUnsigned(read, digests);
  const head = await store.proofs.signedHead();
  const ofSeal = seal === null ? [] : await read.events.of({ kind: 'key', key: seal.certificateSha256 });
  const rests = [
    ...(await read.signatures.entries(digests)),
    ...entries,
    ...ofSeal.map(({ ledgerSeq }) => ledgerSeq),
  ].filter((seq) => seq <= head.size);
  const proofs: Proven['ledger']['proofs'] = [];
  for (const seq of [...new Set(rests)].sort((a, b) => a - b)) {
    const { entry, proof } = await store.proofs.inclusion(seq, head.size);
    proofs.push({ seq, entry, path: [...proof] });
  }
  const witness = await witnessedOf(store, head.size);
  const entriesShown = proofs.map(({ entry }) => readEntry(JSON.parse(entry)));
  const [untimely] = untimelyAmong(statements, entriesShown, witness.witnessed);
  if (untimely) throw notThen(untimely.signed, untimely.fault);
  return {
    keys: keysOf(await read.events.installationKeys()),
    people: peopleOf(signers, await read.events.ofTypes(['person-key-made', 'account-closed'])),
    ledger: {
      ...{ size: head.size, root: head.root, checkpoint: head.checkpoint, proofs },
      ...witness,
    },
    seal: seal === null ? null : { certificateSha256: seal.certificateSha256 },
  };
}

/**
 * No record tells of a statement that its person and the installation did not both sign.
 * @throws AppError ALTERED naming entry and person.
 */
async function refuseUnsigned({ signatures }: Reads, digests: readonly string[]): Promise<void> {
  await signatures.demand(await signatures.withDigests(digests));
}

const notThen = ({ statement: { person, at } }: SignedStatement, fault: TimeFault): AppError =>
  new AppError(
    'ALTERED',
    `the statement of ${person.name} (${person.code}) of ${at} was not signed then (${fault.code}): run ledger verify`,
  );

/** Every key of whoever signed, and of whoever vouches for one of these people. */
function peopleOf(signers: readonly string[], events: readonly RecordedEvent[]): Proven['people'] {
  const made = events.flatMap(({ event, at }) => (event.type === 'person-key-made' ? [{ event, at }] : []));
  const told = new Set(signers);
  // Whoever vouches had a key before: from the last key backwards all of them are met.
  for (const { event } of made.toReversed()) {
    if (told.has(event.person)) for (const { person } of event.endorsements) told.add(person);
  }
  const closings = new Map(
    events.flatMap(({ event, at }) => (event.type === 'account-closed' ? [[event.person, at]] : [])),
  );
  return made
    .filter(({ event }) => told.has(event.person))
    .map(({ event: { type, ...key }, at }) => ({ ...key, madeAt: at, closedAt: closings.get(key.person) ?? null }));
}

async function witnessedOf(store: Store, size: number): Promise<Pick<Proven['ledger'], 'witnessed'>> {
  const last = await store.read.events.lastWitnessed();
  if (last === undefined || last.size > size) return {};
  const { type: _, ...witnessed } = last;
  const { proof } = await store.proofs.consistency(witnessed.size, size);
  return { witnessed: { ...witnessed, consistency: [...proof] } };
}

/** The key in use first, then the others as they followed each other. */
export function keysOf(known: readonly ChainedKey[]): Proven['keys'] {
  const told = known.map(({ fingerprint, publicPem, replaces, endorsement, acceptance, persons }) => ({
    fingerprint,
    publicPem,
    replaces,
    ...(endorsement === undefined ? {} : { endorsement }),
    ...(acceptance === undefined ? {} : { acceptance }),
    ...(persons === undefined ? {} : { persons: [...persons] }),
  }));
  return [...told.slice(-1), ...told.slice(0, -1)];
}

async function earlierOf(
  store: Store,
  lot: string,
  size: number,
  tellsOf: Reader['tellsOf'],
): Promise<Proven['earlier']> {
  const found: Proven['earlier'] = [];
  for (const record of await store.read.records.ofLot(lot)) {
    if (!tellsOf(record.number)) continue;
    const enclosure = Enclosure.safeParse(JSON.parse(record.enclosure));
    if (!enclosure.success || enclosure.data.ledger.size > size) continue;
    const { ledger } = enclosure.data;
    const { proof } = await store.proofs.consistency(ledger.size, size);
    const { number, revision } = record;
    found.push({ number, revision, size: ledger.size, root: ledger.root, consistency: [...proof] });
  }
  return found;
}

/** Where each part is now of which the record tells. */
async function placeNotes(read: Reads, lot: Lot, forCase: string | null): Promise<PlaceNote[]> {
  const shown = isShown(lot, forCase);
  return (await placesOfLot(read, lot))
    .filter(({ key }) => shown(key))
    .map(({ kind, key, place, since, by, holder, held, course }) => ({
      ...{ kind, key, place, since, by, holder, held },
      contradicted: course.faults.length > 0,
    }));
}

const warns = ({
  condition,
  facts: { cases },
}: {
  condition: string;
  facts: Readonly<Record<string, string>>;
}): boolean => condition === 'yearly count' && isNearYearlyLimit(Number(cases));

/** Holds, revocations, changed verdicts, conditions of releases and refused acts, from what is recorded of the lot. */
function statesOf(events: readonly RecordedEvent[]): Proven['states'] {
  const changed = verdictChanges(events);
  return events.flatMap((recorded): Proven['states'] => {
    const { event, actor: by, at, reason } = recorded;
    const signatures = 'signatures' in event ? event.signatures : undefined;
    const text = actText(recorded);
    const note = { by, at, reason: reason ?? '', ...(signatures ? { signed: { text, signatures } } : { text }) };
    switch (event.type) {
      case 'hold-placed': {
        const { units, cause } = event;
        return [{ what: event.type, units, ...note, ...(cause ? { cause } : {}) }];
      }
      case 'hold-lifted':
        return [{ what: event.type, units: event.units, ...note }];
      case 'release-conditions': {
        const near = event.conditions.filter(warns);
        return [
          {
            ...{ what: event.type, units: event.units, ...note, reason: conditionsText(event.conditions) },
            ...(near.length > 0 ? { warns: conditionsText(near) } : {}),
          },
        ];
      }
      case 'act-refused':
        return [
          {
            ...{ what: event.type, units: [], ...note, by: event.person },
            reason: `${actNameText(event.act)}: ${event.why}`,
          },
        ];
      case 'release-revoked':
        return [{ what: event.type, units: event.units, step: event.step, ...note }];
      case 'verdicts-changed': {
        const { implants, checks, notAgain } = event;
        const turned = { implants, checks, ...(notAgain ? { notAgain } : {}) };
        return [{ what: event.type, units: implants.map(({ serial }) => serial), ...note, turned }];
      }
      case 'verdict-changes-seen': {
        const own = changed.filter(({ entry }) => event.entries.includes(entry));
        return [{ what: event.type, units: [...new Set(own.map(({ serial }) => serial))].sort(), ...note }];
      }
      default:
        return [];
    }
  });
}
