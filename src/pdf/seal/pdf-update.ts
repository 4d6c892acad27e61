import { createHash } from 'node:crypto';
import { AppError } from '../../base/errors.js';
import { type PdfDictionary, readDictionary, writeDictionary } from './pdf-dictionary.js';

/**
 * An incremental update (ISO 32000-1, 7.5.6) of a file that this program has just rendered: the file stays as it is,
 * new and changed objects follow its end. It reads what our renderer writes, one classic cross-reference table, and
 * refuses anything else.
 */
export class PdfUpdate {
  private readonly table: CrossReferences;
  private readonly chunks: Buffer[];
  private readonly written = new Map<number, number>();
  private length: number;
  private next: number;

  constructor(private readonly file: Buffer) {
    this.table = readTable(file);
    this.chunks = [file];
    this.length = file.length;
    this.next = numberIn(this.table.trailer, '/Size');
  }

  /** Number of the catalogue. */
  get root(): number {
    return referenceIn(this.table.trailer, '/Root');
  }

  /** A dictionary of the file as it was. */
  read(object: number): PdfDictionary {
    const start = this.table.offsets.get(object);
    if (start === undefined) throw unlike(`it has no object ${object}`);
    const text = this.file.toString('latin1', start, this.file.indexOf('endobj', start));
    return readDictionary(text.slice(text.indexOf('obj') + 3));
  }

  /** A number for an object that is written later. */
  reserve(): number {
    return this.next++;
  }

  /** Writes an object, new or in place of the one with this number. @returns where it starts in the file. */
  write(object: number, value: PdfDictionary | string): number {
    const start = this.length;
    this.written.set(object, start);
    this.append(`${object} 0 obj\n${typeof value === 'string' ? value : writeDictionary(value)}\nendobj\n`);
    return start;
  }

  finish(): Buffer {
    const start = this.length;
    const { trailer } = this.table;
    trailer.set('/Size', String(this.next));
    trailer.set('/ID', this.identifiers(trailer.get('/ID')));
    trailer.set('/Prev', String(this.table.start));
    this.append(`xref\n${tableOf(this.written)}trailer\n${writeDictionary(trailer)}\nstartxref\n${start}\n%%EOF\n`);
    return Buffer.concat(this.chunks);
  }

  /** The first identifier names the document and stays; the second names this state of it. */
  private identifiers(before: string | undefined): string {
    const first = /<[0-9a-f]+>/i.exec(before ?? '')?.[0];
    if (first === undefined) throw unlike('it has no identifier');
    const hash = createHash('sha256');
    for (const chunk of this.chunks) hash.update(chunk);
    return `[${first} <${hash.digest('hex').slice(0, 32)}>]`;
  }

  private append(text: string): void {
    const bytes = Buffer.from(text, 'latin1');
    this.chunks.push(bytes);
    this.length += bytes.length;
  }
}

/** The number of the object that an entry refers to. */
export function referenceIn(dictionary: PdfDictionary, name: string): number {
  const found = /^(\d+)\s+0\s+R$/.exec(dictionary.get(name) ?? '');
  if (!found) throw unlike(`${name} is no reference`);
  return Number(found[1]);
}

export function numberIn(dictionary: PdfDictionary, name: string): number {
  const value = Number(dictionary.get(name));
  if (!Number.isInteger(value)) throw unlike(`${name} is no whole number`);
  return value;
}

export function unlike(what: string): AppError {
  return new AppError('UNEXPECTED', `the file to seal is unlike those that this program renders: ${what}`);
}

interface CrossReferences {
  readonly start: number;
  readonly offsets: ReadonlyMap<number, number>;
  readonly trailer: PdfDictionary;
}

function readTable(file: Buffer): CrossReferences {
  const end = /startxref\n(\d+)\n%%EOF\n$/.exec(file.toString('latin1', Math.max(0, file.length - 64)));
  if (!end) throw unlike('it does not end with its cross-reference table');
  const start = Number(end[1]);
  const text = file.toString('latin1', start);
  const head = /^xref\n0 (\d+)\n/.exec(text);
  if (!head) throw unlike('its cross-reference table is not one run from object 0');
  const offsets = new Map<number, number>();
  const lines = text.slice(head[0].length).split('\n', Number(head[1]));
  lines.forEach((line, object) => {
    const entry = /^(\d{10}) \d{5} ([nf])/.exec(line);
    if (!entry) throw unlike(`its cross-reference table says nothing of object ${object}`);
    if (entry[2] === 'n') offsets.set(object, Number(entry[1]));
  });
  const trailer = readDictionary(text.slice(text.indexOf('trailer') + 'trailer'.length));
  if (trailer.has('/Prev')) throw unlike('it has been updated before');
  return { start, offsets, trailer };
}

/** Lines of 20 bytes for runs of neighbouring objects (ISO 32000-1, 7.5.4). */
function tableOf(written: ReadonlyMap<number, number>): string {
  const objects = [...written.keys()].sort((a, b) => a - b);
  let text = '';
  for (let from = 0; from < objects.length; ) {
    let to = from + 1;
    while (objects[to] === objects[from]! + (to - from)) to++;
    text += `${objects[from]} ${to - from}\n`;
    for (const object of objects.slice(from, to)) {
      text += `${String(written.get(object)).padStart(10, '0')} 00000 n \n`;
    }
    from = to;
  }
  return text;
}
