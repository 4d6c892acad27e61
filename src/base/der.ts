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

/** A value as it is read: BER with definite lengths, as certificates and signatures have it. */
export class DerValue {
  private constructor(
    /** With its class and the bit for constructed ones. */
    readonly tag: number,
    readonly content: Buffer,
    /** With tag and length. */
    readonly whole: Buffer,
  ) {}

  /** The one value that these bytes are. @throws RangeError when they are not one whole value. */
  static of(bytes: Buffer): DerValue {
    const [value, ...more] = valuesIn(bytes);
    if (value === undefined || more.length > 0) throw new RangeError('these bytes are not one DER value');
    return value;
  }

  /** The value that begins at a place. */
  static at(bytes: Buffer, place: number): DerValue {
    const [tag, first] = [bytes[place], bytes[place + 1]];
    if (tag === undefined || first === undefined || (tag & 0x1f) === 0x1f)
      throw new RangeError('a DER value is cut off');
    const digits = first < 0x80 ? 0 : first & 0x7f;
    if (first === 0x80 || digits > 4) throw new RangeError('a DER value has no length that can be read');
    const start = place + 2 + digits;
    const length = digits === 0 ? first : bytes.subarray(place + 2, start).reduce((sum, byte) => sum * 256 + byte, 0);
    if (start + length > bytes.length) throw new RangeError('a DER value is cut off');
    return new DerValue(tag, bytes.subarray(start, start + length), bytes.subarray(place, start + length));
  }

  /** What it is made of. */
  get items(): DerValue[] {
    return valuesIn(this.content);
  }

  /** The item at a place. @throws RangeError when there is none. */
  item(place: number): DerValue {
    const found = this.items[place];
    if (found === undefined) throw new RangeError('a DER value lacks a part');
    return found;
  }

  /** The object identifier that it is, as written: for comparing with `objectId`. */
  is(dotted: string): boolean {
    return this.whole.equals(objectId(dotted));
  }
}

function valuesIn(bytes: Buffer): DerValue[] {
  const values: DerValue[] = [];
  for (let place = 0; place < bytes.length; ) {
    const value = DerValue.at(bytes, place);
    values.push(value);
    place += value.whole.length;
  }
  return values;
}
