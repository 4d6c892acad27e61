import { createHash, createPrivateKey, createPublicKey, type KeyObject, sign } from 'node:crypto';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { fingerprintOf } from '../../src/dossier/public-key.js';
import type { SignedStatement, Statement } from '../../src/dossier/statement.js';
import type { Event } from '../../src/ledger/event.js';
import { linkText, type PersonKey, personKeyText } from '../../src/ledger/person-keys.js';
import { actText } from '../../src/ledger/signed-acts.js';
import type { StateNote } from '../../src/records/enclosure.js';

/** Whatever signs in the name of an installation. */
export interface Installation {
  readonly fingerprint: string;
  sign(text: string): Buffer;
}

/** Whatever signs with the key of a person: one of these, or a pen of the program. */
export interface Signer {
  readonly person: string;
  readonly name: string;
  readonly fingerprint: string;
  sign(text: string): string;
}

/** Head of an Ed25519 key in PKCS #8 (RFC 8410). */
const PKCS8 = Buffer.from('302e020100300506032b657004220420', 'hex');
const keyOf = (secret: string): KeyObject =>
  createPrivateKey({
    key: Buffer.concat([PKCS8, createHash('sha256').update(secret).digest()]),
    format: 'der',
    type: 'pkcs8',
  });
const pemOf = (key: KeyObject): string => createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();
const signature = (key: KeyObject, text: string): string => sign(null, Buffer.from(text), key).toString('base64');

/** An invented person with a key of their own, which lies open: the same key in every suite, unless told otherwise. */
export class TestPerson implements Signer {
  readonly publicPem: string;
  readonly fingerprint: string;
  private readonly key: KeyObject;

  constructor(
    readonly person: string,
    readonly name: string,
    private readonly secret = `${person} ${name}`,
  ) {
    this.key = keyOf(secret);
    this.publicPem = pemOf(this.key);
    this.fingerprint = fingerprintOf(this.publicPem);
  }

  sign(text: string): string {
    return signature(this.key, text);
  }

  /**
   * The key with everything that vouches for it.
   * @param vouching who vouches; nobody for the first administrator.
   */
  named(installation: Installation, vouching: readonly Signer[] = [], replaces: string | null = null): PersonKey {
    const { person, name, fingerprint, publicPem } = this;
    const linkKey = keyOf(`link ${this.secret}`);
    const link = vouching.length === 0 ? null : pemOf(linkKey);
    const facts = { person, name, fingerprint, replaces, link };
    const text = personKeyText(facts);
    const offer = linkText(facts);
    return {
      ...facts,
      publicPem,
      endorsements: vouching.map((by) => ({ person: by.person, key: by.fingerprint, signature: by.sign(offer) })),
      linkSignature: link === null ? null : signature(linkKey, text),
      acceptance: this.sign(text),
      installation: installation.fingerprint,
      signature: installation.sign(text).toString('base64'),
    };
  }
}

/** A statement by its person and by the installation, whatever it says of their keys. */
export function signedBy(signer: Signer, installation: Installation, said: UnsignedStatement): SignedStatement {
  const person = { ...said.person, code: signer.person, name: signer.name, key: signer.fingerprint, recoveredBy: null };
  const statement: Statement = { ...said, person, installation: installation.fingerprint };
  const text = canonicalJson(statement);
  return {
    statement,
    digest: sha256Hex(text),
    personSignature: signer.sign(text),
    signature: installation.sign(text).toString('base64'),
  };
}

type ToldAct = Pick<StateNote, 'units' | 'at' | 'reason' | 'step'> & { readonly lot: string; readonly entry: number };

/** An act on a lot as a record tells of it, signed by its person. */
export function noteBy(
  signer: Signer,
  what: 'hold-placed' | 'hold-lifted' | 'release-revoked',
  told: ToldAct,
): StateNote {
  const { lot, units, at, reason, step, entry: ledgerSeq } = told;
  const by = `person:${signer.person}`;
  const event = { type: what, lot, units, ...(step ? { step } : {}) } as Event;
  const text = actText({ event, ledgerSeq, at, offset: '+00:00', actor: by, reason });
  const signatures = [{ person: signer.person, key: signer.fingerprint, signature: signer.sign(text) }];
  return { what, units, by, at, reason, ...(step ? { step } : {}), signed: { text, signatures } };
}

export type UnsignedStatement = Omit<Statement, 'installation' | 'person'> & {
  readonly person: Pick<Statement['person'], 'role' | 'deputyFor'>;
};
