import { whatDiffers } from '../pdf/reading/open-pdf.js';
import type { PdfContents, PdfSignature } from '../pdf/reading/read-pdf.js';
import { encodeCms } from '../pdf/seal/cms.js';
import { nameOf } from '../pdf/seal/seal.js';
import type { VerifyFinding } from '../report/phrases/verify.js';
import { type ReadSignature, readSignature } from './read-signature.js';
import type { Steps } from './report.js';

/** What a record says of its own seal. */
export interface ExpectedSeal {
  readonly draft: boolean;
  /** Null for a file that was issued without a seal; undefined when what the record says of itself cannot be read. */
  readonly certificateSha256: string | null | undefined;
}

/** A seal that holds, and how far it reaches into the file. */
export interface HoldingSeal extends PdfSignature {
  readonly end: number;
}

/**
 * Reads every signature of the file: who made it, whether it holds, what it covers, and what came after it.
 * @returns the seal of the record where it holds.
 */
export async function checkSeal(
  bytes: Buffer,
  { signatures }: PdfContents,
  expected: ExpectedSeal,
  steps: Steps,
): Promise<HoldingSeal | undefined> {
  const placed = signatures.map((signature) => place(bytes, signature));
  const own = placed.find((found) => found.read?.certificateSha256 === expected.certificateSha256) ?? placed[0];
  for (const other of placed) if (other !== own) nameOther(other, steps);
  if (!own) return sayNoSeal(expected, steps);
  const fault = faultOf(own, expected, bytes.length);
  if (fault !== undefined) return steps.broken('seal', fault);
  const { read, signature, end } = own as Placed & { read: ReadSignature };
  if (end < bytes.length) {
    const differences = await whatDiffers(bytes.subarray(0, end), bytes);
    const code = differences?.parts.length === 0 ? 'saved after the seal' : 'added after the seal';
    const found = { signer: signerOf(read), covers: end, added: bytes.length - end, differences };
    return steps.broken('seal', { code, facts: found });
  }
  const at = timeOf(signature.time)?.toISOString() ?? null;
  steps.holds('seal', {
    code: 'sealed',
    facts: { signer: signerOf(read), at, certificate: read.certificateSha256 },
  });
  return { ...signature, end };
}

/** Whether a file that was made again is the one that was sealed: the seal that another file still has holds over it. */
export function isSealed(bytes: Buffer, signature: PdfSignature, expected: ExpectedSeal): boolean {
  const placed = place(bytes, signature);
  return faultOf(placed, expected, bytes.length) === undefined && placed.end === bytes.length;
}

/** A signature with the bytes around it. */
interface Placed {
  readonly signature: PdfSignature;
  /** Where what it covers ends; 0 when it does not say in the usual way. */
  readonly end: number;
  readonly read: ReadSignature | undefined;
  /** Whether the place of the signature holds it in the one form in which this program writes it. */
  readonly tight: boolean;
}

function place(bytes: Buffer, signature: PdfSignature): Placed {
  const [start, from, to, rest, ...more] = signature.byteRange;
  const usual = start === 0 && more.length === 0 && isBefore(0, from) && isBefore(from, to) && isBefore(0, rest);
  if (!usual) return { signature, end: 0, read: undefined, tight: false };
  const end = to! + rest!;
  const hex = /^<([0-9a-fA-F]*)>$/.exec(bytes.toString('latin1', from, to))?.[1];
  const der = withoutPadding(Buffer.from(hex ?? '', 'hex'));
  const covered = [bytes.subarray(0, from), bytes.subarray(to, end)];
  const read = hex === undefined ? undefined : readSignature(der, covered);
  return { signature, end, read, tight: hex !== undefined && isTight(hex, read, covered) };
}

const isBefore = (a: number | undefined, b: number | undefined): boolean =>
  Number.isSafeInteger(a) && Number.isSafeInteger(b) && a! < b!;

/** The zeros behind a signature fill the place that was kept for it. */
function withoutPadding(padded: Buffer): Buffer {
  const lengthBytes = (padded[1] ?? 0) > 0x80 ? padded[1]! - 0x80 : 0;
  if (lengthBytes === 0 || lengthBytes > 4 || padded.length < 2 + lengthBytes) return padded;
  return padded.subarray(0, 2 + lengthBytes + padded.readUIntBE(2, lengthBytes));
}

/** A signature has parts that nothing signs. Written again in our form it must be the same, to the last digit. */
function isTight(hex: string, read: ReadSignature | undefined, covered: readonly Buffer[]): boolean {
  if (!read || read.fault !== undefined) return false;
  const keyType = read.signer.publicKey.asymmetricKeyType;
  if (keyType !== 'ec' && keyType !== 'rsa') return false;
  const written = encodeCms({ ...read, keyType, digest: read.digestOf(covered) });
  return hex === written.toString('hex').padEnd(hex.length, '0');
}

function faultOf({ read, end, tight }: Placed, expected: ExpectedSeal, size: number): VerifyFinding | undefined {
  if (end > size) return { code: 'seal cut', facts: { covers: end, left: size } };
  if (!read) return { code: 'seal unreadable' };
  const { certificateSha256: wanted } = expected;
  const made = { signer: signerOf(read), certificate: read.certificateSha256 };
  if (wanted === null) return { code: 'issued without seal', facts: made };
  if (wanted !== undefined && read.certificateSha256 !== wanted) {
    return { code: 'foreign certificate', facts: { ...made, named: wanted } };
  }
  if (read.fault === 'content') return { code: 'sealed content altered' };
  if (read.fault === 'signature') return { code: 'seal of another certificate' };
  if (read.fault !== undefined) return { code: 'seal of unknown way' };
  if (!tight) return { code: 'seal with foreign parts' };
  return undefined;
}

function nameOther({ read, signature, end }: Placed, steps: Steps): void {
  const step = { step: 'signature', of: signature.field } as const;
  if (!read) {
    steps.broken(step, { code: 'second signature unreadable' });
    return;
  }
  const holds = read.fault === undefined;
  const found = { signer: signerOf(read), covers: end, holds, certificate: read.certificateSha256 };
  steps.broken(step, { code: 'second signature', facts: found });
}

function sayNoSeal({ draft, certificateSha256 }: ExpectedSeal, steps: Steps): undefined {
  if (certificateSha256 === undefined) {
    steps.skip('seal', { code: 'no seal, nothing known' });
    return undefined;
  }
  if (certificateSha256 !== null) {
    return steps.broken('seal', { code: 'seal removed', facts: { certificate: certificateSha256 } });
  }
  if (!draft) return steps.broken('seal', { code: 'final without seal' });
  steps.skip('seal', { code: 'draft without seal' });
  return undefined;
}

/** Whoever made a signature; a certificate that signed itself has no issuer. */
const signerOf = ({ signer }: ReadSignature) => ({
  name: nameOf(signer),
  issuer: signer.subject === signer.issuer ? null : signer.issuer,
});

/** A time in the form in which the sealing program writes it, `D:20310504100000Z` (ISO 32000-1, 7.9.4), or undefined. */
export function timeOf(text: string): Date | undefined {
  const parts = /^D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/.exec(text);
  if (!parts) return undefined;
  const [year, month, day, hour, minute, second] = parts.slice(1);
  const moment = new Date(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`);
  return Number.isNaN(moment.getTime()) ? undefined : moment;
}
