import { verify } from 'node:crypto';
import { canonicalJson } from '../dossier/canonical.js';
import { readPublicKey } from '../dossier/public-key.js';

/** A key of the installation as the audit trail names it, with what vouches for it. */
export interface ChainedKey {
  readonly fingerprint: string;
  readonly publicPem: string;
  /** Fingerprint of the key before; null for the first one. */
  readonly replaces: string | null;
  /** Ed25519 by the key before over `successionText`, base64; absent when that key was lost. */
  readonly endorsement?: string | undefined;
  /** Ed25519 by this key over `successionText`, base64; absent for the first one. */
  readonly acceptance?: string | undefined;
  /** The two people who vouch for it after a loss. */
  readonly persons?: readonly string[] | undefined;
}

/** One key put in the place of a lost one. */
export interface AfterLoss {
  readonly replaces: string;
  readonly fingerprint: string;
}

/** What is known of the keys without the database. */
export interface KnownOutside {
  /** Fingerprint of the first key. */
  readonly firstKey: string;
  readonly afterLoss: readonly AfterLoss[];
}

/** Why a key does not belong to the chain. */
export type KeyFault =
  | 'another fingerprint'
  | 'not the first key'
  | 'not after the key before'
  | 'not accepted'
  | 'not endorsed'
  | 'loss not known outside';

export interface KeyChain<Key extends ChainedKey = ChainedKey> {
  /** Oldest first; the last one is in use. */
  readonly keys: readonly Key[];
  readonly faults: readonly { readonly fingerprint: string; readonly fault: KeyFault }[];
}

/** What both keys sign when one follows the other. */
export const successionText = ({ replaces, fingerprint, persons }: Omit<ChainedKey, 'publicPem'>): string =>
  canonicalJson({ what: 'installation-key', replaces, fingerprint, persons: persons ?? null });

/**
 * Follows the keys from the first one on: each is endorsed by the one before, or after a loss by two people and by what
 * is kept outside the database. Whoever can only write into the database can do neither.
 * @param keys in the order in which they were named.
 * @param outside what the anchor says; without it the keys are only held against each other.
 */
export function chainOf<Key extends ChainedKey>(keys: readonly Key[], outside?: KnownOutside): KeyChain<Key> {
  const chain: Key[] = [];
  const faults: { fingerprint: string; fault: KeyFault }[] = [];
  for (const key of keys) {
    const fault = faultOf(key, chain.at(-1), outside);
    if (fault === undefined) chain.push(key);
    else faults.push({ fingerprint: key.fingerprint, fault });
  }
  return { keys: chain, faults };
}

function faultOf(key: ChainedKey, before: ChainedKey | undefined, outside?: KnownOutside): KeyFault | undefined {
  if (fingerprintIn(key.publicPem) !== key.fingerprint) return 'another fingerprint';
  if (before === undefined) {
    const isFirst = key.replaces === null && (outside === undefined || outside.firstKey === key.fingerprint);
    return isFirst ? undefined : 'not the first key';
  }
  if (key.replaces !== before.fingerprint) return 'not after the key before';
  if (!hasSigned(key.publicPem, key, key.acceptance)) return 'not accepted';
  if (key.persons === undefined) return hasSigned(before.publicPem, key, key.endorsement) ? undefined : 'not endorsed';
  const isKnown = outside?.afterLoss.some(
    ({ replaces, fingerprint }) => replaces === key.replaces && fingerprint === key.fingerprint,
  );
  return isKnown === false || new Set(key.persons).size !== 2 ? 'loss not known outside' : undefined;
}

/** Whether a key signed that one follows the other. */
export function hasSigned(publicPem: string, succession: ChainedKey, signature: string | undefined): boolean {
  if (signature === undefined) return false;
  const text = Buffer.from(successionText(succession), 'utf8');
  return verify(null, text, readPublicKey(publicPem).key, Buffer.from(signature, 'base64'));
}

function fingerprintIn(publicPem: string): string | undefined {
  try {
    const { key, fingerprint } = readPublicKey(publicPem);
    return key.asymmetricKeyType === 'ed25519' ? fingerprint : undefined;
  } catch {
    return undefined;
  }
}
