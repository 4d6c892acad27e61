import type { X509Certificate } from 'node:crypto';
import { whatDiffers } from '../pdf/reading/open-pdf.js';
import type { PdfContents, PdfSignature } from '../pdf/reading/read-pdf.js';
import { encodeCms } from '../pdf/seal/cms.js';
import { nameOf } from '../pdf/seal/seal.js';
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
    const changed = await whatDiffers(bytes.subarray(0, end), bytes);
    const more = `${bytes.length - end} bytes were added after it, which touch: ${changed}`;
    const cure = `The first ${end} bytes of the file are the record as it was sealed`;
    return steps.broken('seal', `by ${who(read.signer)}. It covers ${end} bytes; ${more}. ${cure}`);
  }
  const words = [`covers the whole file; by ${who(read.signer)}, ${whenOf(signature)}`];
  words.push(`certificate ${read.certificateSha256}, which the enclosure names`);
  steps.holds('seal', `${words.join('; ')}. A seal speaks for the file and is no person's signature`);
  return { ...signature, end };
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

function faultOf({ read, end, tight }: Placed, expected: ExpectedSeal, size: number): string | undefined {
  if (end > size) return `the file was cut: the seal covers ${end} bytes, and ${size} are left`;
  if (!read) return 'its signature was altered: it cannot be read as one';
  const { certificateSha256: wanted } = expected;
  if (wanted === null) {
    return `the record was issued without a seal; ${who(read.signer)} signed this file, certificate ${read.certificateSha256}`;
  }
  if (wanted !== undefined && read.certificateSha256 !== wanted) {
    return `made with a foreign certificate, ${read.certificateSha256} of ${who(read.signer)}; the enclosure names ${wanted}`;
  }
  if (read.fault === 'content') return 'what it covers was altered after it was made: the digest is another one';
  if (read.fault === 'signature') return 'its signature was altered: it does not belong to its certificate';
  if (read.fault !== undefined) return 'it is made in a way that this program does not know';
  if (!tight) return 'its signature was altered: it has parts that this program does not write';
  return undefined;
}

function nameOther({ read, signature, end }: Placed, steps: Steps): void {
  const step = `signature "${signature.field}"`;
  if (!read) {
    steps.broken(step, 'a second signature, which cannot be read');
    return;
  }
  const state = read.fault === undefined ? 'it holds' : 'it does not hold';
  const says = `${who(read.signer)} signed the first ${end} bytes; ${state}; certificate ${read.certificateSha256}`;
  steps.broken(step, `a second signature, which this record does not know: ${says}`);
}

function sayNoSeal({ draft, certificateSha256 }: ExpectedSeal, steps: Steps): undefined {
  if (certificateSha256 === undefined) {
    steps.skip('seal', 'there is none, and whether there should be one cannot be read');
    return undefined;
  }
  if (certificateSha256 !== null) {
    return steps.broken('seal', `it was removed: the enclosure names certificate ${certificateSha256}`);
  }
  if (!draft) return steps.broken('seal', 'the record calls itself final, and final records are sealed');
  steps.skip('seal', 'a draft carries no seal: unaltered here means that the file agrees with itself');
  return undefined;
}

function who(signer: X509Certificate): string {
  const issuer = signer.subject === signer.issuer ? '' : `, issued by ${signer.issuer.replaceAll('\n', ', ')}`;
  return `"${nameOf(signer)}"${issuer}`;
}

/** The time that the sealing program wrote: `D:20310504100000Z` (ISO 32000-1, 7.9.4). */
function whenOf({ time }: PdfSignature): string {
  const moment = timeOf(time);
  return moment === undefined ? 'at no stated time' : `${moment.toISOString().slice(0, 19).replace('T', ' ')} UTC`;
}

/** A time in the form in which this program writes it, or undefined. */
export function timeOf(text: string): Date | undefined {
  const parts = /^D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/.exec(text);
  if (!parts) return undefined;
  const [year, month, day, hour, minute, second] = parts.slice(1);
  const moment = new Date(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`);
  return Number.isNaN(moment.getTime()) ? undefined : moment;
}
