import { ZipFile } from 'yazl';

/** An entry of a ZIP that a test makes; `mode` is the one of Unix. */
export interface ZipEntry {
  readonly name: string;
  readonly bytes: Buffer;
  readonly mode?: number;
}

export async function zipOf(entries: readonly ZipEntry[]): Promise<Buffer> {
  const zip = new ZipFile();
  const mtime = new Date('2031-03-05T08:00:00Z');
  for (const { name, bytes, mode = 0o100644 } of entries) zip.addBuffer(bytes, name, { compress: true, mtime, mode });
  zip.end();
  const blocks: Buffer[] = [];
  for await (const block of zip.outputStream) blocks.push(block as Buffer);
  return Buffer.concat(blocks);
}

/** The same bytes with one text of them replaced wherever it stands; the other is as long. */
export function replaced(bytes: Buffer, from: string, to: string): Buffer<ArrayBuffer> {
  if (from.length !== to.length) throw new RangeError(`${from} and ${to} are not of one length`);
  return Buffer.from(bytes.toString('latin1').replaceAll(from, to), 'latin1');
}

/** The same ZIP with a number at `offset` of every entry in its list of contents replaced. */
export function withListed(bytes: Buffer, offset: number, size: 2 | 4, change: (was: number) => number): Buffer {
  const copy = Buffer.from(bytes);
  for (let at = copy.indexOf('PK\x01\x02', 0, 'latin1'); at >= 0; at = copy.indexOf('PK\x01\x02', at + 4, 'latin1')) {
    copy.writeUIntLE(change(copy.readUIntLE(at + offset, size)), at + offset, size);
  }
  return copy;
}
