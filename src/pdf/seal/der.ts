import { ObjectIdentifier } from 'asn1js';

/**
 * Writes the few kinds of DER values (ITU-T X.690) that a certificate and a signature are made of. Each function gives
 * the whole value, with tag and length, so that values made elsewhere (a certificate, a name) go in byte for byte.
 */
export function sequence(...items: readonly Buffer[]): Buffer {
  return tagged(0x30, ...items);
}

/** DER wants the members of a SET OF in the order of their bytes (X.690, 11.6). */
export function setOf(...items: readonly Buffer[]): Buffer {
  return tagged(0x31, ...inOrderOfBytes(items));
}

/** `[number]`, constructed, context-specific. Around one value it is explicit; around the members of a value, implicit. */
export function context(number: number, ...items: readonly Buffer[]): Buffer {
  return tagged(0xa0 + number, ...items);
}

export function objectId(dotted: string): Buffer {
  return Buffer.from(new ObjectIdentifier({ value: dotted }).toBER());
}

/** A non-negative integer from its bytes, the most significant one first. */
export function integer(bytes: Uint8Array): Buffer {
  const start = bytes.findIndex((byte) => byte !== 0);
  const significant = start === -1 ? Buffer.of(0) : Buffer.from(bytes.subarray(start));
  // A first bit of 1 would make it negative.
  return significant[0]! >= 0x80 ? tagged(0x02, Buffer.of(0), significant) : tagged(0x02, significant);
}

export function octets(bytes: Buffer): Buffer {
  return tagged(0x04, bytes);
}

/** A bit string; `unused` is the number of bits at the end that do not count. */
export function bits(bytes: Buffer, unused = 0): Buffer {
  return tagged(0x03, Buffer.of(unused), bytes);
}

export function nothing(): Buffer {
  return tagged(0x05);
}

export function yes(): Buffer {
  return tagged(0x01, Buffer.of(0xff));
}

export function utf8(text: string): Buffer {
  return tagged(0x0c, Buffer.from(text, 'utf8'));
}

/** RFC 5280, 4.1.2.5: years through 2049 with two digits, later ones with four; whole seconds, UTC. */
export function time(moment: Date): Buffer {
  const digits = `${moment.toISOString().replace(/\.\d+|[-:T]/g, '')}`;
  const late = moment.getUTCFullYear() >= 2050;
  return late ? tagged(0x18, Buffer.from(digits)) : tagged(0x17, Buffer.from(digits.slice(2)));
}

export function inOrderOfBytes(items: readonly Buffer[]): Buffer[] {
  return [...items].sort(Buffer.compare);
}

function tagged(tag: number, ...items: readonly Buffer[]): Buffer {
  const content = Buffer.concat(items);
  return Buffer.concat([Buffer.of(tag), lengthOf(content), content]);
}

function lengthOf(content: Buffer): Buffer {
  if (content.length < 0x80) return Buffer.of(content.length);
  const digits = content.length.toString(16);
  const bytes = Buffer.from(digits.length % 2 === 0 ? digits : `0${digits}`, 'hex');
  return Buffer.concat([Buffer.of(0x80 + bytes.length), bytes]);
}
