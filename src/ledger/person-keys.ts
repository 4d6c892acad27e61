import { z } from 'zod';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { fingerprintOf, hasSignedText } from '../dossier/public-key.js';
import { faultOfStatement, type SignedStatement, type Statement, type StatementFault } from '../dossier/statement.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);
const Signature = z.string().describe('Ed25519 (RFC 8032), base64');

/** That somebody vouches for whoever opens a one-time link: who it is for, which key it replaces, its own key. Or for more. */
export const LinkEndorsement = z.strictObject({
  person: z.string(),
  key: Digest.describe('fingerprint of the key of that person'),
  signature: Signature.describe('over what the person vouches for'),
});
export type LinkEndorsement = z.infer<typeof LinkEndorsement>;

/** The key of a person as the audit trail names it, with everything that vouches for it. */
export const PERSON_KEY = {
  person: z.string().describe('code of whose key it is'),
  name: z.string().describe('as signatures print it'),
  fingerprint: Digest.describe('SHA-256 of its SubjectPublicKeyInfo in DER'),
  publicPem: z.string(),
  replaces: Digest.nullable().describe('the key that the person had before; null for their first one'),
  link: z.string().nullable().describe('public key of the one-time link in PEM; null for the first administrator'),
  endorsements: z.array(LinkEndorsement).describe('by one person for a first key, by two for a later one'),
  linkSignature: Signature.nullable().describe('by the key of the one-time link over this key'),
  acceptance: Signature.describe('by this key over itself'),
  installation: Digest.describe('fingerprint of the installation key'),
  signature: Signature.describe('by the installation key over this key'),
};
export const PersonKey = z.strictObject(PERSON_KEY);
export type PersonKey = z.infer<typeof PersonKey>;

/** What the people sign who vouch for whoever opens a link. */
export const linkText = ({ person, name, replaces, link }: Pick<PersonKey, 'person' | 'name' | 'replaces' | 'link'>) =>
  canonicalJson({ what: 'person-key-link', person, name, replaces, link });

/** What the key of the link, the key itself and the installation sign. */
export const personKeyText = ({ person, name, fingerprint, replaces, link }: Omit<PersonKey, Signed>): string =>
  canonicalJson({ what: 'person-key', person, name, fingerprint, replaces, link });

type Signed = 'publicPem' | 'endorsements' | 'linkSignature' | 'acceptance' | 'installation' | 'signature';

/** Why a key is not one of this cell. */
export type PersonKeyFault =
  | 'another fingerprint'
  | 'not accepted'
  | 'not the first one'
  | 'not after the key before'
  | 'not by its link'
  | 'not endorsed'
  | 'endorsed by one alone'
  | 'not by the installation';

/** Something that was named of keys of people, with its place in time: an entry of the ledger, or a moment. */
export type Named =
  | { readonly key: PersonKey; readonly at: number }
  /** The account was closed: the key went with its person. */
  | { readonly closed: string; readonly at: number };

export interface KeyInForce extends PersonKey {
  readonly from: number;
  /** Null while it is in use. */
  readonly to: number | null;
}

export interface PersonKeys {
  /** By their fingerprints, in the order in which they were named. */
  readonly keys: ReadonlyMap<string, KeyInForce>;
  readonly faults: readonly { readonly key: PersonKey; readonly fault: PersonKeyFault }[];
}

/**
 * Follows the keys of people: the first administrator's stands by the word of the installation, every other one by that of
 * people whose keys were there before, by one for a first key and by two for one that takes the place of another. Neither
 * the database nor the installation key can add one.
 * @param named in the order in which it was recorded.
 * @param installation public keys of the installation in PEM, by their fingerprints.
 */
export function personKeysOf(named: readonly Named[], installation: ReadonlyMap<string, string>): PersonKeys {
  const keys = new Map<string, KeyInForce>();
  const faults: { key: PersonKey; fault: PersonKeyFault }[] = [];
  for (const item of named) {
    const before = 'key' in item ? latestOf(keys, item.key.person) : currentOf(keys, item.closed);
    if ('key' in item) {
      const fault = faultOfKey(item.key, before, keys, installation);
      if (fault !== undefined) {
        faults.push({ key: item.key, fault });
        continue;
      }
      keys.set(item.key.fingerprint, { ...item.key, from: item.at, to: null });
    }
    if (before?.to === null) keys.set(before.fingerprint, { ...before, to: item.at });
  }
  return { keys, faults };
}

const latestOf = (keys: PersonKeys['keys'], person: string): KeyInForce | undefined =>
  [...keys.values()].findLast((key) => key.person === person);

/** The key with which a person signs now; none before their first link was used, and after their account was closed. */
export function currentOf(keys: PersonKeys['keys'], person: string): KeyInForce | undefined {
  const latest = latestOf(keys, person);
  return latest?.to === null ? latest : undefined;
}

function faultOfKey(
  key: PersonKey,
  before: KeyInForce | undefined,
  keys: PersonKeys['keys'],
  installation: ReadonlyMap<string, string>,
): PersonKeyFault | undefined {
  const text = personKeyText(key);
  if (fingerprintIn(key.publicPem) !== key.fingerprint) return 'another fingerprint';
  if (!hasSignedText(key.publicPem, text, key.acceptance)) return 'not accepted';
  if (!hasSignedText(installation.get(key.installation) ?? '', text, key.signature)) return 'not by the installation';
  if (key.replaces !== (before?.fingerprint ?? null)) return 'not after the key before';
  if (key.link === null) return keys.size === 0 && key.replaces === null ? undefined : 'not the first one';
  if (!hasSignedText(key.link, text, key.linkSignature)) return 'not by its link';
  const vouching = new Set(key.endorsements.filter((one) => vouches(one, key, keys)).map(({ person }) => person));
  if (vouching.size >= vouchingNeeded(keys, key.person)) return undefined;
  return vouching.size === 0 ? 'not endorsed' : 'endorsed by one alone';
}

/**
 * How many people must vouch for the next key of a person: one for the first, two for any other; fewer only where so many
 * others never had a key. Whoever left counts too, or closing accounts would make it easier.
 */
export function vouchingNeeded(keys: PersonKeys['keys'], person: string): number {
  const people = new Set([...keys.values()].map((key) => key.person));
  if (!people.has(person)) return 1;
  return Math.min(2, people.size - 1);
}

/** Nobody vouches for themselves, and nobody with a key that has gone. */
function vouches({ person, key, signature }: LinkEndorsement, of: PersonKey, keys: PersonKeys['keys']): boolean {
  const own = keys.get(key);
  if (own === undefined || own.person !== person || person === of.person || own.to !== null) return false;
  return hasSignedText(own.publicPem, linkText(of), signature);
}

function fingerprintIn(publicPem: string): string | undefined {
  try {
    return fingerprintOf(publicPem);
  } catch {
    return undefined;
  }
}

/** What statements are checked with. */
export interface KnownKeys {
  /** Public keys of the installation in PEM, by their fingerprints. */
  readonly installation: ReadonlyMap<string, string>;
  readonly people: PersonKeys;
  /**
   * Whether the signer of a statement held the role that it names, then. Absent where that is not known: a record carries
   * the keys of people and not their roles.
   */
  readonly isRoleHeld?: ((statement: Statement, at: number) => boolean) | undefined;
}

export type SignedFault =
  | StatementFault
  | 'unknown key'
  | 'unknown key of a person'
  | 'key of somebody else'
  | 'another course of the key'
  | 'not while the key was in use'
  | 'not the signature of the person'
  | 'role not held';

/** Signatures that held under their keys once hold always. */
const held = new Set<string>();
const MOST_HELD = 50_000;

/**
 * Why a statement cannot be trusted, or undefined when it can: its person and the installation have both signed it, each
 * with a key that follows from the first ones, the key of the person was in use then, and they held the role that it names.
 * @param at its place in time, as the keys have it.
 */
export function faultOfSigned(signed: SignedStatement, known: KnownKeys, at: number): SignedFault | undefined {
  const { statement, digest, personSignature, signature } = signed;
  const installationPem = known.installation.get(statement.installation);
  if (installationPem === undefined) return 'unknown key';
  const key = known.people.keys.get(statement.person.key);
  if (key === undefined) return 'unknown key of a person';
  if (key.person !== statement.person.code || key.name !== statement.person.name) return 'key of somebody else';
  if (canonicalJson(statement.person.recoveredBy) !== canonicalJson(recoveredBy(key)))
    return 'another course of the key';
  if (at < key.from || (key.to !== null && at > key.to)) return 'not while the key was in use';
  if (known.isRoleHeld?.(statement, at) === false) return 'role not held';
  const text = canonicalJson(statement);
  const once = sha256Hex(canonicalJson([text, digest, signature, installationPem, personSignature, key.publicPem]));
  if (held.has(once)) return undefined;
  const fault = faultOfStatement(signed, installationPem);
  if (fault !== undefined) return fault;
  if (!hasSignedText(key.publicPem, text, personSignature)) return 'not the signature of the person';
  if (held.size >= MOST_HELD) held.clear();
  held.add(once);
  return undefined;
}

/** Codes of those who vouch for a key that stands in the place of a lost one; null for a first key. */
export const recoveredBy = ({
  replaces,
  endorsements,
}: Pick<PersonKey, 'replaces' | 'endorsements'>): string[] | null =>
  replaces === null ? null : endorsements.map(({ person }) => person);
