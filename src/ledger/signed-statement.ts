import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { hasSignedText } from '../dossier/public-key.js';
import { faultOfStatement, type SignedStatement, type StatementFault } from '../dossier/statement.js';
import { type PersonKeys, recoveredBy } from './person-keys.js';
import type { RolesHeld } from './roles-held.js';

/** What statements are checked with. */
export interface KnownKeys {
  /** Public keys of the installation in PEM, by their fingerprints. */
  readonly installation: ReadonlyMap<string, string>;
  readonly people: PersonKeys;
  /** Who held which role. Absent where that is not known: a record carries the keys of people and not their roles. */
  readonly roles?: RolesHeld | undefined;
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
  if (known.roles?.isHeld(statement, at) === false) return 'role not held';
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
