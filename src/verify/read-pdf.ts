import { createRequire } from 'node:module';
import path from 'node:path';
import { AppError } from '../errors.js';

/** What a record's PDF says of itself and carries. */
export interface PdfContents {
  readonly keywords: string;
  readonly attachments: ReadonlyMap<string, Uint8Array>;
}

interface QpdfFiles {
  writeFile(name: string, bytes: Uint8Array): void;
  readFile(name: string): Uint8Array;
}

interface Qpdf {
  callMain(args: string[]): number;
  FS: QpdfFiles;
}

type PdfObject = string | number | boolean | null | PdfObject[] | { [name: string]: PdfObject };
type Dictionary = { [name: string]: PdfObject };

/**
 * Reads the attachments and the keywords of a PDF. Runs in a worker thread with a memory limit: the file comes from
 * anywhere.
 * @throws AppError ALTERED when the bytes are no whole PDF.
 */
export async function readPdf(bytes: Uint8Array): Promise<PdfContents> {
  const objects = await pdfObjects(bytes);
  const resolve = (value: PdfObject | undefined): PdfObject | undefined => {
    if (typeof value !== 'string' || !/^\d+ \d+ R$/.test(value)) return value;
    const found = objects[`obj:${value}`] as { value?: PdfObject; stream?: PdfObject } | undefined;
    return found?.value ?? found?.stream;
  };
  const trailer = (objects.trailer as { value: Dictionary }).value;
  const info = resolve(trailer['/Info']) as Dictionary | undefined;
  const attachments = new Map<string, Uint8Array>();
  for (const object of Object.values(objects)) {
    const value = (object as { value?: PdfObject }).value as Dictionary | undefined;
    if (value?.['/Type'] !== '/Filespec') continue;
    const files = resolve(value['/EF']) as Dictionary;
    const stream = resolve(files['/F']) as { data?: string } | undefined;
    const name = text(resolve(value['/UF']) ?? resolve(value['/F']));
    if (stream?.data === undefined || attachments.has(name)) {
      throw new AppError('ALTERED', `attachment "${name}" cannot be read, or is there twice`, { attachment: name });
    }
    attachments.set(name, Buffer.from(stream.data, 'base64'));
  }
  return { keywords: text(resolve(info?.['/Keywords'])), attachments };
}

/** qpdf's JSON marks text strings with `u:`. */
const text = (value: PdfObject | undefined): string => (typeof value === 'string' ? value.replace(/^u:/, '') : '');

async function pdfObjects(bytes: Uint8Array): Promise<Record<string, PdfObject>> {
  const entry = createRequire(import.meta.url).resolve('@neslinesli93/qpdf-wasm');
  const { default: load } = (await import('@neslinesli93/qpdf-wasm')) as unknown as {
    default: (options: object) => Promise<Qpdf>;
  };
  const complaints: string[] = [];
  const note = (line: string) => complaints.push(line);
  const qpdf = await load({
    locateFile: () => path.join(path.dirname(entry), 'qpdf.wasm'),
    print: note,
    printErr: note,
  });
  qpdf.FS.writeFile('/record.pdf', bytes);
  const flags = ['--json=2', '--json-key=qpdf', '--json-stream-data=inline', '--decode-level=generalized'];
  const code = qpdf.callMain([...flags, '/record.pdf', '/record.json']);
  if (code !== 0) {
    throw new AppError('ALTERED', `the file is no whole PDF: ${complaints[0] ?? `qpdf ended with code ${code}`}`);
  }
  const parsed = JSON.parse(Buffer.from(qpdf.FS.readFile('/record.json')).toString('utf8')) as {
    qpdf: [unknown, Record<string, PdfObject>];
  };
  return parsed.qpdf[1];
}
