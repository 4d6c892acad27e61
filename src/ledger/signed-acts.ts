import { AppError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { hasSignedText } from '../dossier/public-key.js';
import type { Event, RecordedEvent } from './event.js';
import { successionText } from './key-chain.js';
import type { KeyInForce, LinkEndorsement, PersonKeys } from './person-keys.js';
import { mayRedact, ROLES_OF_ACTS, type RolesHeld } from './roles-held.js';

/** Acts that an administrator alone performs. */
export const ACTS_ON_ACCOUNTS = [
  'account-made',
  'account-closed',
  'role-given',
  'role-taken',
  'deputy-named',
  'deputy-ended',
  'elsewhere-linked',
  'elsewhere-unlinked',
] as const satisfies readonly Event['type'][];

/** Acts of people that the audit trail keeps as events: each is signed with the key of whoever acted. */
export const ACTS_OF_PEOPLE = [
  ...ACTS_ON_ACCOUNTS,
  'intake-token-made',
  'intake-token-ended',
  'hold-placed',
  'hold-lifted',
  'release-revoked',
  'document-withdrawn',
  'verdict-changes-seen',
  'legal-hold-placed',
  'legal-hold-lifted',
  'evidence-redacted',
] as const satisfies readonly Event['type'][];

const OF_PEOPLE: ReadonlySet<string> = new Set(ACTS_OF_PEOPLE);
const ON_ACCOUNTS: ReadonlySet<string> = new Set(ACTS_ON_ACCOUNTS);

/** Whatever signs with the key of a person. */
export interface Signer {
  readonly person: string;
  /** Of the public half. */
  readonly fingerprint: string;
  sign(text: string): string;
}

/** An act as the audit trail has it: `at` and `offset` are those of its entry. */
export type RecordedAct = Omit<RecordedEvent, 'event'> & { readonly event: Event };

/**
 * What a person signs of an act: all that the audit trail says of it, with the number of its entry, so that what was signed
 * once counts nowhere else.
 */
export function actText({ event, ledgerSeq: entry, at, offset, actor, reason }: RecordedAct): string {
  const { signatures: _, ...act } = event as Event & { signatures?: unknown };
  return canonicalJson({ what: 'act', entry, act, at, offset, actor, reason });
}

type Renewed = Extract<Event, { type: 'anchor-renewed' }>;

/** What two people sign who accept the audit trail as it is, and leave the second place of its anchor where it is an address. */
export function renewalText({
  persons,
  before,
  ledgerSize,
  root,
  leaves,
}: Omit<Renewed, 'type' | 'signatures'>): string {
  const left = leaves === undefined ? {} : { leaves };
  return canonicalJson({ what: 'anchor-renewed', persons, before, ledgerSize, root, ...left });
}

/** Who had to sign an event, and what; undefined where it needs nobody, such as a hold that the program placed by itself. */
function asked(act: RecordedAct): { readonly persons: readonly string[]; readonly text: string } | undefined {
  const { event, actor } = act;
  if (event.type === 'anchor-renewed') return { persons: event.persons, text: renewalText(event) };
  if (event.type === 'key-made') {
    if (event.persons === undefined) return undefined;
    const { replaces, fingerprint, persons } = event;
    return { persons, text: successionText({ replaces: replaces!, fingerprint, persons }) };
  }
  if (event.type === 'hold-placed' && event.cause !== undefined) return undefined;
  if (event.type === 'evidence-redacted') return { persons: event.persons, text: actText(act) };
  // Of one's own alone, whoever the entry says acted.
  if (event.type === 'intake-token-made' || event.type === 'intake-token-ended') {
    return { persons: [event.person], text: actText(act) };
  }
  return OF_PEOPLE.has(event.type) ? { persons: [personOf(actor)], text: actText(act) } : undefined;
}

/** The person whom an actor of the audit trail names, such as `person:P-QE through local:ana`; empty for nobody. */
const personOf = (actor: string): string => /^person:(.*?)(?: through .*)?$/.exec(actor)?.[1] ?? '';

export type ActFault =
  | 'not signed'
  | 'not signed by two'
  | 'unknown key of a person'
  | 'key of somebody else'
  | 'not while the key was in use'
  | 'not the signature of the person'
  | 'not in a role of the act'
  | 'not by an administrator'
  | 'not of this place';

/** Signatures that held under their keys once hold always. */
const held = new Set<string>();
const MOST_HELD = 50_000;

/** Who acts: their keys, and their roles where these are known. */
interface Actors {
  readonly people: PersonKeys;
  readonly roles?: RolesHeld | undefined;
}

/**
 * Why an act cannot be trusted, or undefined when it can: whoever acted signed it with the key that they had then, and held
 * a role that may act so. Acts on accounts have a rule of their own: `faultsOfActs`.
 */
export function faultOfAct(act: RecordedAct, { people, roles }: Actors): ActFault | undefined {
  const needed = asked(act);
  if (needed === undefined) return undefined;
  const { persons } = needed;
  const signatures = ('signatures' in act.event && act.event.signatures) || [];
  const fault = faultOfSignatures({ ...needed, signatures }, people, act.ledgerSeq);
  if (fault !== undefined) return persons.length > 1 ? 'not signed by two' : fault;
  return (roles && faultOfRoles(act, persons, roles)) ?? faultOfPlace(act);
}

/** What accepted the audit trail counts right behind what it accepted: appended again later, it would accept the rest too. */
const faultOfPlace = ({ event, ledgerSeq }: RecordedAct): ActFault | undefined =>
  event.type === 'anchor-renewed' && event.ledgerSize !== ledgerSeq - 1 ? 'not of this place' : undefined;

function faultOfRoles(act: RecordedAct, persons: readonly string[], roles: RolesHeld): ActFault | undefined {
  const { type } = act.event;
  if (type === 'anchor-renewed' || type === 'key-made') {
    return persons.some((person) => roles.hasOneOf(person, ['administrator'], act))
      ? undefined
      : 'not by an administrator';
  }
  if (type === 'evidence-redacted') return mayRedact(persons, act, roles) ? undefined : 'not in a role of the act';
  if (!(type in ROLES_OF_ACTS)) return undefined;
  const needed = ROLES_OF_ACTS[type as keyof typeof ROLES_OF_ACTS];
  return roles.hasOneOf(persons[0]!, needed, act) ? undefined : 'not in a role of the act';
}

/** Why a text is not signed by each of these people with the key that they had then. */
export function faultOfSignatures(
  { persons, text, signatures }: { persons: readonly string[]; text: string; signatures: readonly LinkEndorsement[] },
  { keys }: PersonKeys,
  at: number,
): ActFault | undefined {
  if (new Set(persons).size < persons.length) return 'key of somebody else';
  for (const person of persons) {
    const own = signatures.find((one) => one.person === person);
    if (own === undefined) return signatures.length === 0 ? 'not signed' : 'key of somebody else';
    const key = keys.get(own.key);
    if (key === undefined) return 'unknown key of a person';
    if (key.person !== person) return 'key of somebody else';
    if (at < key.from || (key.to !== null && at > key.to)) return 'not while the key was in use';
    if (!isSigned(key, text, own.signature)) return 'not the signature of the person';
  }
  return undefined;
}

function isSigned({ publicPem }: KeyInForce, text: string, signature: string): boolean {
  const once = sha256Hex(canonicalJson([text, signature, publicPem]));
  if (held.has(once)) return true;
  if (!hasSignedText(publicPem, text, signature)) return false;
  if (held.size >= MOST_HELD) held.clear();
  held.add(once);
  return true;
}

export interface FaultyAct {
  readonly act: RecordedAct;
  readonly fault: ActFault;
}

/** The acts of a list that cannot be trusted by themselves. */
export const faultyAmong = (acts: readonly RecordedAct[], actors: Actors): FaultyAct[] =>
  acts.flatMap((act) => {
    const fault = faultOfAct(act, actors);
    return fault === undefined ? [] : [{ act, fault }];
  });

/**
 * The acts that cannot be trusted.
 * @param acts in the order of the ledger, all acts on accounts among them.
 */
export function faultsOfActs(acts: readonly RecordedAct[], actors: Actors): FaultyAct[] {
  const administrators = new Administrators();
  return acts.flatMap((act) => {
    const fault = administrators.faultOf(act, actors);
    return fault === undefined ? [] : [{ act, fault }];
  });
}

/**
 * Who keeps the accounts, act by act. Roles and accounts lead back to the first administrator, who began by the word of the
 * installation: whoever gave a role had to be an administrator then, by acts that hold themselves.
 */
export class Administrators {
  private readonly now = new Set<string>();

  get codes(): ReadonlySet<string> {
    return this.now;
  }

  /** Why the next act cannot be trusted; one that can is followed. */
  faultOf(act: RecordedAct, actors: Actors): ActFault | undefined {
    const fault = faultOfAct(act, actors) ?? this.faultOfAuthority(act);
    if (fault === undefined) this.follow(act.event);
    return fault;
  }

  private faultOfAuthority({ event, actor }: RecordedAct): ActFault | undefined {
    if (!ON_ACCOUNTS.has(event.type) || !('person' in event)) return undefined;
    const by = personOf(actor);
    if (this.now.has(by)) return undefined;
    return this.now.size === 0 && event.person === by ? undefined : 'not by an administrator';
  }

  private follow(event: Event): void {
    if (event.type === 'role-given' && event.role === 'administrator') this.now.add(event.person);
    if (event.type === 'role-taken' && event.role === 'administrator') this.now.delete(event.person);
    if (event.type === 'account-closed') this.now.delete(event.person);
  }
}

/** When a password opened a key that has been replaced, or whose account was closed, meanwhile. */
export const keyHasGone = (): AppError =>
  new AppError('REFUSED', 'the key that your password opened is not yours any more; prove again who you are');
