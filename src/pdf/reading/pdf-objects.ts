import { createRequire } from 'node:module';
import path from 'node:path';
import { AppError } from '../../base/errors.js';

/** A PDF value as qpdf's JSON (version 2) writes it: names begin with `/`, strings with `u:` or `b:`, `1 0 R` refers. */
export type PdfValue = string | number | boolean | null | PdfValue[] | { [name: string]: PdfValue };
export type PdfDictionary = { [name: string]: PdfValue };

interface StoredObject {
  readonly value?: PdfValue;
  readonly stream?: { readonly dict: PdfDictionary; readonly data?: string };
}

/** References that lead to references end here; a form or page tree is not deeper in files that are meant to be read. */
const DEEPEST = 50;

/** All objects of a PDF by their references, streams decoded. */
export class PdfObjects {
  private constructor(
    private readonly objects: Readonly<Record<string, StoredObject>>,
    readonly complaints: readonly string[],
  ) {}

  /** @throws AppError ALTERED when the bytes are no whole PDF. */
  static async read(bytes: Uint8Array): Promise<PdfObjects> {
    const qpdf = await loadQpdf();
    qpdf.FS.writeFile('/record.pdf', bytes);
    const flags = ['--json=2', '--json-key=qpdf', '--json-stream-data=inline', '--decode-level=generalized'];
    const code = qpdf.callMain([...flags, '/record.pdf', '/record.json']);
    const complaints = qpdf.said.map((line) => line.replace(/^(WARNING: |[^ ]+: )?\/record\.pdf:? ?/, ''));
    if (code !== 0 && code !== CODE_WITH_WARNINGS) {
      throw new AppError('ALTERED', `it is no whole PDF: ${complaints[0] ?? `qpdf ended with code ${code}`}`);
    }
    const parsed = JSON.parse(Buffer.from(qpdf.FS.readFile('/record.json')).toString('utf8')) as {
      qpdf: [unknown, Record<string, StoredObject>];
    };
    return new PdfObjects(parsed.qpdf[1], code === 0 ? [] : complaints);
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

  /** An object as one text, to compare it with another. */
  textOf(reference: string): string | undefined {
    return JSON.stringify(this.objects[`obj:${reference}`]);
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

  streamData(value: PdfValue | undefined): Uint8Array | undefined {
    const data = isReference(value) ? this.objects[`obj:${value}`]?.stream?.data : undefined;
    return data === undefined ? undefined : Buffer.from(data, 'base64');
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

interface Qpdf {
  callMain(args: string[]): number;
  readonly FS: {
    writeFile(name: string, bytes: Uint8Array): void;
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
