import { createHash } from 'node:crypto';
import { deflateSync, inflateSync } from 'node:zlib';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import { detachedSignature } from '../../src/pdf/seal/cms.js';
import type { Seal } from '../../src/pdf/seal/seal.js';

/** The file with one bit of one byte changed. */
export function flipped(bytes: Buffer, at: number, bit = 1): Buffer {
  const changed = Buffer.from(bytes);
  changed[at]! ^= bit;
  return changed;
}

/** The file with one text in place of another of the same length: nothing moves. */
export function replaced(bytes: Buffer, from: string, to: string): Buffer {
  const at = bytes.indexOf(from, 0, 'latin1');
  if (at === -1 || from.length !== to.length) throw new Error(`"${from}" is not there, or is no longer than "${to}"`);
  const changed = Buffer.from(bytes);
  changed.write(to, at, 'latin1');
  return changed;
}

/** The file with one digit of an attachment changed, packed to the same length. */
export async function insideAttachment(bytes: Buffer, name: string): Promise<Buffer> {
  const { attachments } = await readPdf(bytes);
  const wanted = Buffer.from(attachments.get(name)!);
  const text = bytes.toString('latin1');
  for (const match of text.matchAll(/\/Type \/EmbeddedFile[\s\S]*?stream\r?\n/g)) {
    const start = match.index + match[0].length;
    const end = text.indexOf('\nendstream', start);
    if (unpacked(bytes.subarray(start, end))?.equals(wanted)) return repacked(bytes, start, end);
  }
  throw new Error(`attachment ${name} was not found in the file`);
}

/** The file with one digit in the drawing of a page changed, packed to the same length. */
export function insidePage(bytes: Buffer, page: number): Buffer {
  const text = bytes.toString('latin1');
  const contents = [...text.matchAll(/\/Type \/Page\n[\s\S]*?\/Contents (\d+) 0 R/g)].map((match) => match[1]!);
  const object = [...new Set(contents)][page - 1];
  const head = new RegExp(`\\n${object} 0 obj\\n[\\s\\S]*?stream\\n`).exec(text)!;
  const start = head.index + head[0].length;
  return repacked(bytes, start, text.indexOf('\nendstream', start));
}

function unpacked(packed: Buffer): Buffer | undefined {
  try {
    return inflateSync(packed);
  } catch {
    return undefined;
  }
}

/** Exactly as long as before, so that no offset moves and nothing but the content is odd about the file. */
function repacked(bytes: Buffer, start: number, end: number): Buffer {
  const plain = unpacked(bytes.subarray(start, end))!;
  for (let at = plain.length - 1; at >= 0; at--) {
    if (plain[at]! < 0x30 || plain[at]! > 0x39) continue;
    const changed = Buffer.from(plain);
    changed[at] = plain[at] === 0x39 ? 0x30 : plain[at]! + 1;
    const packed = deflateSync(changed);
    if (packed.length === end - start) return Buffer.concat([bytes.subarray(0, start), packed, bytes.subarray(end)]);
  }
  throw new Error('no changed digit packs alike');
}

/** The object of the file, the last one of this number, as it is written. */
export function objectText(bytes: Buffer, object: number): string {
  const text = bytes.toString('latin1');
  const start = text.lastIndexOf(`\n${object} 0 obj\n`) + `\n${object} 0 obj\n`.length;
  return text.slice(start, text.indexOf('\nendobj', start));
}

/** The number that an entry of the file refers to, where it stands last. */
export function referenceOf(bytes: Buffer, name: string): number {
  return Number([...bytes.toString('latin1').matchAll(new RegExp(`${name} \\[?(\\d+) 0 R`, 'g'))].at(-1)![1]);
}

/** The file with an incremental update after it, as an editor of PDF leaves it: new bodies for these objects. */
export function withUpdate(bytes: Buffer, bodies: ReadonlyMap<number, string>): Buffer {
  const before = bytes.toString('latin1');
  const previous = /startxref\n(\d+)\n%%EOF\n$/.exec(before)![1];
  const trailer = before.slice(before.lastIndexOf('trailer'), before.lastIndexOf('startxref'));
  const size = Number(/\/Size (\d+)/.exec(trailer)![1]);
  let text = '';
  let table = '';
  for (const [object, body] of bodies) {
    table += `${object} 1\n${String(bytes.length + text.length).padStart(10, '0')} 00000 n \n`;
    text += `${object} 0 obj\n${body}\nendobj\n`;
  }
  const next = trailer
    .replace(/\/Size \d+/, `/Size ${Math.max(size, ...[...bodies.keys()].map((object) => object + 1))}`)
    .replace(/\/Prev \d+\n/, '')
    .replace(/>>\s*$/, `/Prev ${previous}\n>>\n`);
  const end = `xref\n${table}${next}startxref\n${bytes.length + text.length}\n%%EOF\n`;
  return Buffer.concat([bytes, Buffer.from(text + end, 'latin1')]);
}

/** The file signed once more by somebody else, as a reader of PDF does it: an update with a second field. */
export function signedAgain(bytes: Buffer, seal: Seal): Buffer {
  const form = referenceOf(bytes, '/AcroForm');
  const value = Number([...bytes.toString('latin1').matchAll(/\/Size (\d+)\n\/Root/g)].at(-1)![1]);
  const widget = value + 1;
  const room = 8192;
  const range = `[0 ${'*'.repeat(10)} ${'*'.repeat(10)} ${'*'.repeat(10)}]`;
  const updated = withUpdate(
    bytes,
    new Map([
      [form, objectText(bytes, form).replace('/Fields [', `/Fields [${widget} 0 R `)],
      [widget, `<< /Type /Annot /Subtype /Widget /FT /Sig /T (Other) /V ${value} 0 R /Rect [0 0 0 0] /F 132 >>`],
      [
        value,
        `<< /Type /Sig /Filter /Adobe.PPKLite /SubFilter /ETSI.CAdES.detached /ByteRange ${range} /Contents <${'0'.repeat(room)}> >>`,
      ],
    ]),
  );
  const from = updated.indexOf('/Contents <', bytes.length) + '/Contents '.length;
  const to = from + room + 2;
  const written = `[0 ${from} ${to} ${updated.length - to}]`.padEnd(range.length);
  updated.write(written, updated.indexOf(range), 'latin1');
  const digest = createHash('sha256').update(updated.subarray(0, from)).update(updated.subarray(to)).digest();
  updated.write(detachedSignature(digest, seal).toString('hex'), from + 1, 'latin1');
  return updated;
}
