import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

/** A PDF value as qpdf's JSON (version 2) writes it: names begin with `/`, strings with `u:` or `b:`, `1 0 R` refers. */
export type PdfValue = string | number | boolean | null | PdfValue[] | { [key: string]: PdfValue };
export type PdfDictionary = { [key: string]: PdfValue };

interface StoredObject {
  value?: PdfValue;
  stream?: { dict: PdfDictionary; data: string };
}

/** Runs something on a file with these bytes, in a folder of its own that is removed afterwards. */
export function withFile<T>(bytes: Buffer, use: (file: string, folder: string) => T): T {
  const folder = mkdtempSync(path.join(tmpdir(), 'lotwright-pdf-'));
  try {
    const file = path.join(folder, 'record.pdf');
    writeFileSync(file, bytes);
    return use(file, folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** All objects of a PDF, streams decoded, as qpdf reads them. Tests may change them to plant a fault. */
export class PdfObjects {
  readonly objects: Record<string, StoredObject>;

  constructor(json: string) {
    this.objects = JSON.parse(json).qpdf[1];
  }

  static read(bytes: Buffer): PdfObjects {
    const options = ['--json=2', '--json-key=qpdf', '--json-stream-data=inline', '--decode-level=generalized'];
    const json = withFile(bytes, (file) =>
      execFileSync('qpdf', ['--warning-exit-0', ...options, file], { maxBuffer: 1 << 30, encoding: 'utf8' }),
    );
    return new PdfObjects(json);
  }

  copy(): PdfObjects {
    return new PdfObjects(JSON.stringify({ qpdf: [{}, this.objects] }));
  }

  get trailer(): PdfDictionary {
    return this.objects.trailer!.value as PdfDictionary;
  }

  get catalogue(): PdfDictionary {
    return this.dictionary(this.trailer['/Root']);
  }

  /** Every dictionary of the file, with the reference under which it is stored. */
  *dictionaries(): Generator<{ reference: string; dictionary: PdfDictionary; isStream: boolean }> {
    for (const [key, object] of Object.entries(this.objects)) {
      const dictionary = object.stream?.dict ?? object.value;
      if (isDictionary(dictionary)) {
        yield { reference: key.replace(/^obj:/, ''), dictionary, isStream: object.stream !== undefined };
      }
    }
  }

  /** The value behind a reference, or the value itself. A stream gives its dictionary. */
  get(value: PdfValue | undefined): PdfValue {
    let current: PdfValue = value ?? null;
    for (let depth = 0; depth < 10 && isReference(current); depth++) {
      const object: StoredObject | undefined = this.objects[`obj:${current}`];
      current = object?.stream?.dict ?? object?.value ?? null;
    }
    return current;
  }

  dictionary(value: PdfValue | undefined): PdfDictionary {
    const found = this.get(value);
    return isDictionary(found) ? found : {};
  }

  /** An array; a single value counts as an array of one, and nothing as an empty one. */
  array(value: PdfValue | undefined): PdfValue[] {
    const found = this.get(value);
    if (found === null) return [];
    return Array.isArray(found) ? found : [value!];
  }

  bytes(reference: PdfValue | undefined): Buffer {
    return Buffer.from(this.objects[`obj:${reference}`]?.stream?.data ?? '', 'base64');
  }

  /** Replaces the content of a stream. */
  setBytes(reference: PdfValue | undefined, bytes: Buffer | string): void {
    this.objects[`obj:${reference}`]!.stream!.data = Buffer.from(bytes).toString('base64');
  }

  text(value: PdfValue | undefined): string | undefined {
    const found = this.get(value);
    return typeof found === 'string' && found.startsWith('u:') ? found.slice(2) : undefined;
  }

  /** The bytes of a string; none for what is no string. */
  stringBytes(value: PdfValue | undefined): Buffer {
    const found = this.get(value);
    if (typeof found !== 'string') return Buffer.alloc(0);
    return found.startsWith('b:') ? Buffer.from(found.slice(2), 'hex') : bytesOfText(found.slice(2));
  }

  /** References of the pages in order. */
  pages(): string[] {
    const leaves = (reference: PdfValue): string[] => {
      const node = this.dictionary(reference);
      return node['/Type'] === '/Pages' ? this.array(node['/Kids']).flatMap(leaves) : [String(reference)];
    };
    return leaves(this.catalogue['/Pages'] ?? null);
  }
}

/** Where PDFDocEncoding differs from Latin-1 (ISO 32000-1, D.2): the characters from this byte on. */
const OTHER_THAN_LATIN_1 = [
  { from: 0x18, characters: '˘ˇˆ˙˝˛˚˜' },
  { from: 0x80, characters: '•†‡…—–ƒ⁄‹›−‰„“”‘’‚™ﬁﬂŁŒŠŸŽıłœšž\ufffd€' },
] as const;

/** qpdf writes bytes as text where they happen to be text, which one digest of MD5 in a thousand is. */
function bytesOfText(text: string): Buffer {
  const bytes = [...text].map((character) => {
    const table = OTHER_THAN_LATIN_1.find(({ characters }) => characters.includes(character));
    return table ? table.from + table.characters.indexOf(character) : character.charCodeAt(0);
  });
  if (bytes.every((byte) => byte < 256)) return Buffer.from(bytes);
  return Buffer.concat([Buffer.from([0xfe, 0xff]), Buffer.from(text, 'utf16le').swap16()]);
}

export function isReference(value: unknown): value is string {
  return typeof value === 'string' && /^\d+ \d+ R$/.test(value);
}

export function isDictionary(value: unknown): value is PdfDictionary {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
