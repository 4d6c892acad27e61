import { z } from 'zod';
import { canonicalJson } from '../dossier/canonical.js';
import { fingerprintOf, hasSignedText } from '../dossier/public-key.js';

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
  | 'not endorsed by an administrator'
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
 */
export class PersonKeyWalk implements PersonKeys {
  readonly keys = new Map<string, KeyInForce>();
  readonly faults: { key: PersonKey; fault: PersonKeyFault }[] = [];

  /** @param installation public keys of the installation in PEM, by their fingerprints. */
  constructor(private readonly installation: ReadonlyMap<string, string>) {}

  /**
   * The next key in the order of recording.
   * @param mayVouch whether somebody was an administrator when the link was made: one of them makes the links of others.
   */
  add(key: PersonKey, at: number, mayVouch: (person: string) => boolean = () => true): void {
    const before = latestOf(this.keys, key.person);
    const fault = faultOfKey(key, before, this.keys, this.installation, mayVouch);
    if (fault !== undefined) {
      this.faults.push({ key, fault });
      return;
    }
    this.keys.set(key.fingerprint, { ...key, from: at, to: null });
    if (before?.to === null) this.keys.set(before.fingerprint, { ...before, to: at });
  }

  /** The account of a person was closed: the key went with them. */
  close(person: string, at: number): void {
    const current = currentOf(this.keys, person);
    if (current) this.keys.set(current.fingerprint, { ...current, to: at });
  }
}

/**
 * The same for whoever does not know who was an administrator, such as the reader of a record.
 * @param named in the order in which it was recorded.
 */
export function personKeysOf(named: readonly Named[], installation: ReadonlyMap<string, string>): PersonKeys {
  const walk = new PersonKeyWalk(installation);
  for (const item of named) {
    if ('key' in item) walk.add(item.key, item.at);
    else walk.close(item.closed, item.at);
  }
  return walk;
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
  mayVouch: (person: string) => boolean,
): PersonKeyFault | undefined {
  const text = personKeyText(key);
  if (fingerprintIn(key.publicPem) !== key.fingerprint) return 'another fingerprint';
  if (!hasSignedText(key.publicPem, text, key.acceptance)) return 'not accepted';
  if (!hasSignedText(installation.get(key.installation) ?? '', text, key.signature)) return 'not by the installation';
  if (key.replaces !== (before?.fingerprint ?? null)) return 'not after the key before';
  if (key.link === null) return keys.size === 0 && key.replaces === null ? undefined : 'not the first one';
  if (!hasSignedText(key.link, text, key.linkSignature)) return 'not by its link';
  const vouching = new Set(key.endorsements.filter((one) => vouches(one, key, keys)).map(({ person }) => person));
  if (vouching.size < vouchingNeeded(keys, key.person)) {
    return vouching.size === 0 ? 'not endorsed' : 'endorsed by one alone';
  }
  return before === undefined && ![...vouching].some(mayVouch) ? 'not endorsed by an administrator' : undefined;
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

/** Codes of those who vouch for a key that stands in the place of a lost one; null for a first key. */
export const recoveredBy = ({
  replaces,
  endorsements,
}: Pick<PersonKey, 'replaces' | 'endorsements'>): string[] | null =>
  replaces === null ? null : endorsements.map(({ person }) => person);
