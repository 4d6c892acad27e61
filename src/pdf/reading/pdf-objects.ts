import { createHash } from 'node:crypto';
import { createRequire } from 'node:module';
import path from 'node:path';
import { inflateSync } from 'node:zlib';
import { MOST } from '../../base/limits.js';
import { UnreadablePdf } from './unreadable.js';

/** A PDF value as qpdf's JSON (version 2) writes it: names begin with `/`, strings with `u:` or `b:`, `1 0 R` refers. */
export type PdfValue = string | number | boolean | null | PdfValue[] | { [name: string]: PdfValue };
export type PdfDictionary = { [name: string]: PdfValue };

interface StoredObject {
  readonly value?: PdfValue;
  readonly stream?: { readonly dict: PdfDictionary; readonly datafile?: string };
}

/** References that lead to references end here; a form or page tree is not deeper in files that are meant to be read. */
const DEEPEST = 50;

/** All objects of a PDF by their references. Streams are unpacked when they are asked for. */
export class PdfObjects {
  private unpacked = 0;

  private constructor(
    private readonly objects: Readonly<Record<string, StoredObject>>,
    private readonly packed: (name: string) => Uint8Array,
    /** Whether something in it is wrong that could be overlooked. */
    readonly isDamaged: boolean,
  ) {}

  /** @throws UnreadablePdf when the bytes are no whole PDF. */
  static async read(bytes: Uint8Array): Promise<PdfObjects> {
    const qpdf = await loadQpdf();
    // It looks at these bytes and changes none: a copy would cost as much again.
    qpdf.FS.writeFile('/record.pdf', bytes, { canOwn: true });
    const streams = ['--json-stream-data=file', '--json-stream-prefix=/stream', '--decode-level=none'];
    const code = ended(() => qpdf.callMain(['--json=2', '--json-key=qpdf', ...streams, '/record.pdf', '/record.json']));
    if (code !== 0 && code !== CODE_WITH_WARNINGS) throw new UnreadablePdf({ code: whyUnread(qpdf.said) });
    const parsed = JSON.parse(Buffer.from(qpdf.FS.readFile('/record.json')).toString('utf8')) as {
      qpdf: [unknown, Record<string, StoredObject>];
    };
    return new PdfObjects(parsed.qpdf[1], (name) => qpdf.FS.readFile(name), code !== 0);
  }

  get trailer(): PdfDictionary {
    return asDictionary(this.objects.trailer?.value);
  }

  get catalogue(): PdfDictionary {
    return this.dictionary(this.trailer['/Root']);
  }

  /** References of all objects, such as `12 0 R`. */
  references(): string[] {
    return Object.keys(this.objects).flatMap((key) => (key.startsWith('obj:') ? [key.slice(4)] : []));
  }

  *dictionaries(): Generator<{ reference: string; dictionary: PdfDictionary }> {
    for (const reference of this.references()) yield { reference, dictionary: this.dictionary(reference) };
  }

  get(value: PdfValue | undefined): PdfValue {
    let current: PdfValue = value ?? null;
    for (let depth = 0; depth < DEEPEST && isReference(current); depth++) {
      const object: StoredObject | undefined = this.objects[`obj:${current}`];
      current = object?.stream?.dict ?? object?.value ?? null;
    }
    return current;
  }

  dictionary(value: PdfValue | undefined): PdfDictionary {
    return asDictionary(this.get(value));
  }

  array(value: PdfValue | undefined): PdfValue[] {
    const found = this.get(value);
    return Array.isArray(found) ? found : [];
  }

  text(value: PdfValue | undefined): string {
    const found = this.get(value);
    return typeof found === 'string' ? found.replace(/^u:/, '') : '';
  }

  isStream(value: PdfValue): boolean {
    return isReference(value) && this.objects[`obj:${value}`]?.stream !== undefined;
  }

  /**
   * The bytes of a stream, unpacked; undefined when there is none, or it is packed in another way than ours.
   * @throws UnreadablePdf when all that was asked for comes to more than a record has.
   */
  streamData(value: PdfValue | undefined): Uint8Array | undefined {
    const stream = isReference(value) ? this.objects[`obj:${value}`]?.stream : undefined;
    if (stream?.datafile === undefined) return undefined;
    const { '/Filter': filter, '/DecodeParms': parameters } = stream.dict;
    const filters = filter === undefined ? [] : [this.get(filter)].flat();
    if (filters.some((name) => name !== '/FlateDecode') || filters.length > 1) return undefined;
    if (this.get(parameters) !== null && this.get([parameters].flat()[0] ?? null) !== null) return undefined;
    const packed = this.packed(stream.datafile);
    const data = filters.length === 0 ? packed : this.inflated(packed);
    this.unpacked += data?.length ?? 0;
    return data;
  }

  private inflated(packed: Uint8Array): Uint8Array | undefined {
    // Another program may say of nothing that it is packed.
    if (packed.length === 0) return packed;
    try {
      return inflateSync(packed, { maxOutputLength: Math.max(1, MOST.pdfUnpackedBytes - this.unpacked) });
    } catch (error) {
      if ((error as { code?: string }).code === 'ERR_BUFFER_TOO_LARGE') throw new UnreadablePdf({ code: 'too much' });
      return undefined;
    }
  }

  /** SHA-256 of a stream as it is drawn or carried: packed again by another program it stays the same. */
  streamDigest(reference: string): string | undefined {
    const stream = this.objects[`obj:${reference}`]?.stream;
    if (stream?.datafile === undefined) return undefined;
    const data = this.streamData(reference);
    const filter = data === undefined ? JSON.stringify(stream.dict['/Filter'] ?? null) : '';
    return createHash('sha256')
      .update(filter)
      .update(data ?? this.packed(stream.datafile))
      .digest('hex');
  }

  /** References of the pages in their order. */
  pages(): string[] {
    return this.leaves(this.catalogue['/Pages']);
  }

  /** The fields of the form that have no fields below them. */
  fields(): PdfDictionary[] {
    const form = this.dictionary(this.catalogue['/AcroForm']);
    return this.array(form['/Fields']).flatMap((field) => this.leaves(field).map((leaf) => this.dictionary(leaf)));
  }

  private leaves(node: PdfValue | undefined, depth = 0): string[] {
    if (!isReference(node) || depth > DEEPEST) return [];
    const kids = this.array(this.dictionary(node)['/Kids']);
    return kids.length === 0 ? [node] : kids.flatMap((kid) => this.leaves(kid, depth + 1));
  }
}

export function isReference(value: unknown): value is string {
  return typeof value === 'string' && /^\d+ \d+ R$/.test(value);
}

function asDictionary(value: PdfValue | undefined): PdfDictionary {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? value : {};
}

/** qpdf's own code for a file that it could read although something in it is wrong. */
const CODE_WITH_WARNINGS = 3;

/** A fault inside the library says of the file that it cannot be read. */
function ended(run: () => number): number | undefined {
  try {
    return run();
  } catch {
    return undefined;
  }
}

/** The words of the library are for us and for nobody else. */
function whyUnread(said: readonly string[]): 'locked' | 'too much' | 'no whole PDF' {
  const words = said.join('\n');
  if (/password|unsupported encryption/i.test(words)) return 'locked';
  return /bad_alloc|out of memory/i.test(words) ? 'too much' : 'no whole PDF';
}

interface Qpdf {
  callMain(args: string[]): number;
  readonly FS: {
    writeFile(name: string, bytes: Uint8Array, options: { readonly canOwn: boolean }): void;
    readFile(name: string): Uint8Array;
  };
}

async function loadQpdf(): Promise<Qpdf & { readonly said: readonly string[] }> {
  const entry = createRequire(import.meta.url).resolve('@neslinesli93/qpdf-wasm');
  const { default: load } = (await import('@neslinesli93/qpdf-wasm')) as unknown as {
    default: (options: object) => Promise<Qpdf>;
  };
  const said: string[] = [];
  const loading = speakingTo(said, () => load({ locateFile: () => path.join(path.dirname(entry), 'qpdf.wasm') }));
  return Object.assign(await loading, { said });
}

/** The library takes the console's functions when it is started and offers no other way to hear it. */
function speakingTo<T>(said: string[], start: () => T): T {
  const { log, error } = console;
  const note = (line: string) => said.push(line);
  Object.assign(console, { log: note, error: note });
  try {
    return start();
  } finally {
    Object.assign(console, { log, error });
  }
}
