import { crc32, gzipSync, inflateRawSync } from 'node:zlib';
import { MOST } from '../base/limits.js';

/** One member of a gzip file (RFC 1952), unpacked, with the bytes that it takes there. */
export interface GzipMember {
  readonly text: Buffer;
  /** When it was written, to the second. */
  readonly at: string;
  readonly bytes: number;
}

/** Without name or comment: ten bytes, with the time from the fifth on. */
const HEAD = Buffer.from([0x1f, 0x8b, 8, 0]);
const HEAD_BYTES = 10;
const TAIL_BYTES = 8;

/** @param at when it is written. */
export function gzipMember(text: Uint8Array, at: string): Buffer {
  const member = gzipSync(text);
  member.writeUInt32LE(Math.floor(Date.parse(at) / 1000), HEAD.length);
  return member;
}

/** The members from the beginning on that are whole and unaltered, as `gzipMember` writes them: a cut takes the last. */
export function wholeMembers(file: Buffer): GzipMember[] {
  const members: GzipMember[] = [];
  for (let at = 0; at < file.length; ) {
    const member = memberAt(file.subarray(at));
    if (!member) break;
    members.push(member);
    at += member.bytes;
  }
  return members;
}

/** Node tells how much was taken in by the engine, which its types leave out. */
type Inflated = { readonly buffer: Buffer; readonly engine: { readonly bytesWritten: number } };

function memberAt(bytes: Buffer): GzipMember | undefined {
  if (bytes.length < HEAD_BYTES + TAIL_BYTES || bytes.compare(HEAD, 0, HEAD.length, 0, HEAD.length) !== 0)
    return undefined;
  try {
    const { buffer: text, engine } = inflateRawSync(bytes.subarray(HEAD_BYTES), {
      info: true,
      maxOutputLength: MOST.recordedDocumentBytes,
    }) as unknown as Inflated;
    const end = HEAD_BYTES + engine.bytesWritten;
    if (bytes.length < end + TAIL_BYTES) return undefined;
    const isWhole = bytes.readUInt32LE(end) === crc32(text) && bytes.readUInt32LE(end + 4) === text.length;
    const at = new Date(1000 * bytes.readUInt32LE(HEAD.length)).toISOString();
    return isWhole ? { text, at, bytes: end + TAIL_BYTES } : undefined;
  } catch {
    return undefined;
  }
}
