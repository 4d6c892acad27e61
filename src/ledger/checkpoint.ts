import { createHash, verify } from 'node:crypto';
import { AppError } from '../base/errors.js';
import { fingerprintOf, readPublicKey } from '../dossier/public-key.js';

/**
 * Signed heads of the ledger in the open forms C2SP signed-note and C2SP tlog-checkpoint, so that general tools read
 * them and an outside cosigner may add a signature of its own.
 *
 * A note is a text that ends in a line feed, an empty line, and signature lines `— NAME BASE64`, where the base64 holds
 * four bytes that name the key and then the signature. A checkpoint is a note whose text is origin, size and root.
 */
export interface NoteSignature {
  readonly name: string;
  /** Eight hexadecimal digits. */
  readonly keyId: string;
  /** Base64 of key id and signature, as the line carries it. */
  readonly base64: string;
}

export interface Note {
  /** What is signed, with its final line feed. */
  readonly text: string;
  readonly signatures: readonly NoteSignature[];
}

export interface Checkpoint {
  readonly origin: string;
  readonly size: number;
  /** Root of the first `size` entries, hexadecimal. */
  readonly root: string;
}

/** An Ed25519 key that may have signed. */
export interface NoteKey {
  readonly name: string;
  readonly publicPem: string;
}

/** Signature type byte of plain Ed25519 signatures, from the list of C2SP signed-note. */
const ED25519 = Buffer.from([1]);

/** Verifiers must take at least 16 signatures; more than this is no honest note. */
const MOST_SIGNATURES = 100;

const SIGNATURE_LINE = /^— (\S+) ([A-Za-z0-9+/]+={0,2})$/u;

/** Where a data folder's heads come from: a name that no network resolves (RFC 2606), after the first key it was given. */
export const originOf = (firstFingerprint: string): string => `lotwright.invalid/${firstFingerprint.slice(0, 16)}`;

/** The keys of a data folder, oldest first, as signers of its heads. */
export function noteKeysOf(keys: readonly { fingerprint: string; publicPem: string }[]): NoteKey[] {
  const [first] = keys;
  return keys.map(({ publicPem }) => ({ name: originOf(first!.fingerprint), publicPem }));
}

/** Key id: the first four bytes of SHA-256(name ‖ LF ‖ 0x01 ‖ public key). */
export function keyIdOf({ name, publicPem }: NoteKey): string {
  const hash = createHash('sha256').update(`${name}\n`).update(ED25519).update(rawPublicKey(publicPem));
  return hash.digest('hex').slice(0, 8);
}

/** The key as one word that tools for signed notes take: `NAME+ID+BASE64`. */
export function verifierKeyOf(key: NoteKey): string {
  const encoded = Buffer.concat([ED25519, rawPublicKey(key.publicPem)]).toString('base64');
  return `${key.name}+${keyIdOf(key)}+${encoded}`;
}

/** The 32 bytes of RFC 8032 are the end of the SubjectPublicKeyInfo. */
function rawPublicKey(publicPem: string): Buffer {
  return readPublicKey(publicPem).der.subarray(-32);
}

export function signatureOf(key: NoteKey, signature: Uint8Array): NoteSignature {
  const keyId = keyIdOf(key);
  return { name: key.name, keyId, base64: Buffer.concat([Buffer.from(keyId, 'hex'), signature]).toString('base64') };
}

export const writeNote = ({ text, signatures }: Note): string =>
  `${text}\n${signatures.map(({ name, base64 }) => `— ${name} ${base64}\n`).join('')}`;

/** @throws AppError BAD_INPUT naming what is not as C2SP signed-note has it. */
export function parseNote(note: string): Note {
  const end = note.lastIndexOf('\n\n');
  if (end < 0) throw notANote('it has no empty line between text and signatures');
  if (/\p{Cc}/u.test(note.replaceAll('\n', ''))) throw notANote('it holds a control character');
  if (!note.endsWith('\n')) throw notANote('its last line has no end');
  const lines = note.slice(end + 2, -1).split('\n');
  if (lines.length > MOST_SIGNATURES) throw notANote(`it has more than ${MOST_SIGNATURES} signatures`);
  return { text: note.slice(0, end + 1), signatures: lines.map(parseSignatureLine) };
}

function parseSignatureLine(line: string): NoteSignature {
  const [, name, base64] = SIGNATURE_LINE.exec(line) ?? [];
  if (name === undefined || base64 === undefined) throw notANote('it has a line that is no signature');
  return parsedSignature(name, base64);
}

function parsedSignature(name: string, base64: string): NoteSignature {
  const bytes = Buffer.from(base64, 'base64');
  if (name.includes('+') || bytes.length < 5 || bytes.toString('base64') !== base64) {
    throw notANote('it has a signature that cannot be read');
  }
  return { name, keyId: bytes.subarray(0, 4).toString('hex'), base64 };
}

export const checkpointText = ({ origin, size, root }: Checkpoint): string =>
  `${origin}\n${size}\n${Buffer.from(root, 'hex').toString('base64')}\n`;

/**
 * Origin, size and root of the text of a note. Further lines are allowed and mean nothing here.
 * @throws AppError BAD_INPUT naming the line that is not as C2SP tlog-checkpoint has it.
 */
export function parseCheckpoint(text: string): Checkpoint {
  const [origin, size, root, ...further] = text.slice(0, -1).split('\n');
  if (!text.endsWith('\n') || !origin) throw notACheckpoint('its first line, the origin, is empty');
  if (!size || !/^(?:0|[1-9]\d*)$/.test(size) || !Number.isSafeInteger(Number(size))) {
    throw notACheckpoint('its second line is no number of entries');
  }
  const bytes = Buffer.from(root ?? '', 'base64');
  if (bytes.length !== 32 || bytes.toString('base64') !== root) {
    throw notACheckpoint('its third line is no SHA-256 in base64');
  }
  if (further.includes('')) throw notACheckpoint('it has an empty line');
  return { origin, size: Number(size), root: bytes.toString('hex') };
}

/** A head with what its signatures are worth. */
export interface ReadHead extends Checkpoint {
  /** Fingerprint of the known key that signed it, or null when no known key did. */
  readonly signedBy: string | null;
  /** Signatures of other keys: cosigners, or keys that are not known here. They are shown, not checked. */
  readonly others: readonly NoteSignature[];
}

/**
 * Reads a signed head and checks it under the known keys. As C2SP signed-note asks, a signature of an unknown key is
 * passed over, and a signature that names a known key and does not verify refuses the whole note.
 * @throws AppError BAD_INPUT when it is no head, ALTERED when a known key did not sign this text.
 */
export function readHead(note: Note, keys: readonly NoteKey[]): ReadHead {
  const checkpoint = parseCheckpoint(note.text);
  const others: NoteSignature[] = [];
  let signedBy: string | null = null;
  for (const signature of note.signatures) {
    const key = keys.find((known) => known.name === signature.name && keyIdOf(known) === signature.keyId);
    if (!key) {
      others.push(signature);
      continue;
    }
    if (!verifiesUnder(key, note.text, signature)) {
      throw new AppError(
        'ALTERED',
        `the head of ${checkpoint.size} entries was not signed by the key that it names (${signature.keyId}): ` +
          'it was copied wrongly, or somebody made it up',
      );
    }
    signedBy = fingerprintOf(key.publicPem);
  }
  return { ...checkpoint, signedBy, others };
}

/** Why the head that a change left does not belong to the ledger that is there. */
export type LastHeadFault =
  | { readonly what: 'is missing' }
  | { readonly what: 'not readable'; readonly error: string }
  | { readonly what: 'signed by no key of this folder' }
  | { readonly what: 'another size'; readonly signed: number; readonly found: number }
  | { readonly what: 'another audit trail' };

/** @returns undefined when the head belongs to the ledger that is there. */
export function faultOfLastHead(
  kept: string | null,
  keys: readonly NoteKey[],
  size: number,
  root: string,
): LastHeadFault | undefined {
  if (kept === null) return { what: 'is missing' };
  let head: ReadHead;
  try {
    head = readHead(parseHead(kept), keys);
  } catch (error) {
    return { what: 'not readable', error: (error as Error).message };
  }
  if (head.signedBy === null) return { what: 'signed by no key of this folder' };
  if (head.size !== size) return { what: 'another size', signed: head.size, found: size };
  return head.root === root ? undefined : { what: 'another audit trail' };
}

function verifiesUnder({ publicPem }: NoteKey, text: string, { base64 }: NoteSignature): boolean {
  const signature = Buffer.from(base64, 'base64').subarray(4);
  return verify(null, Buffer.from(text, 'utf8'), readPublicKey(publicPem).key, signature);
}

/** The head as one line for keeping outside: origin, size, root, and the signature of the installation. */
export function headLine(note: Note): string {
  const { origin, size } = parseCheckpoint(note.text);
  const root = note.text.split('\n')[2]!;
  const own = note.signatures.find(({ name }) => name === origin);
  if (!own) throw notACheckpoint('it has no signature of its own origin');
  return `${origin} ${size} ${root} ${own.base64}`;
}

/**
 * Reads a head that was kept outside: as one line, or as the note itself with its cosigners.
 * @throws AppError BAD_INPUT when it is neither.
 */
export function parseHead(kept: string): Note {
  const lines = kept.trim();
  if (lines.includes('\n')) return parseNote(`${lines}\n`);
  const [origin, size, root, base64, more] = lines.split(/\s+/);
  if (base64 === undefined || more !== undefined) {
    throw notACheckpoint('it is not the line that "ledger head" prints: origin, size, root, signature');
  }
  return { text: `${origin}\n${size}\n${root}\n`, signatures: [parsedSignature(origin!, base64)] };
}

const notANote = (why: string): AppError => new AppError('BAD_INPUT', `this is no signed note: ${why}`);
const notACheckpoint = (why: string): AppError => new AppError('BAD_INPUT', `this is no head of a ledger: ${why}`);
