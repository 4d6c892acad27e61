import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { finished, pipeline } from 'node:stream/promises';
import { Injectable } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { sha256Hex } from '../dossier/canonical.js';
import { CasePart, Dossier, type EvidenceRef } from '../dossier/schema.js';
import { openPdf } from '../pdf/reading/open-pdf.js';
import { PACKAGE } from '../report/phrases/package.js';
import { Store } from '../store/store.js';
import { type BagInformation, bagTags, type PayloadFile, plainName } from './bag.js';
import { ATTACHED, Enclosure } from './enclosure.js';
import type { IssuedRecord } from './record-issuer.js';

/** What is used of the library, which brings no types. */
interface ZipLibrary {
  readonly ZipFile: new () => {
    readonly outputStream: NodeJS.ReadableStream;
    addFile(file: string, name: string, options: { mtime: Date; mode: number; compress: boolean }): void;
    addBuffer(bytes: Buffer, name: string, options: { mtime: Date; mode: number; compress: boolean }): void;
    end(): void;
    on(event: 'error', listener: (error: Error) => void): void;
  };
}

export interface WrittenPackage {
  readonly file: string;
  readonly files: number;
  readonly bytes: number;
  readonly leftOut: readonly string[];
}

interface Source extends PayloadFile {
  readonly content: Buffer | { readonly file: string };
}

/** Puts a record, what it carries and the evidence behind it into one ZIP that any checksum tool can check. */
@Injectable()
export class PackageWriter {
  constructor(private readonly store: Store) {}

  /**
   * Writes a BagIt folder (RFC 8493) as ZIP. A copy for one institution carries no evidence: results and logs speak of
   * every implant of the lot. Evidence flagged as personal data is named by its hash in the lot file and never packed.
   * @param out the ZIP; beside the record when absent.
   * @throws AppError ALTERED when a file of evidence is not the one that was received.
   */
  async write(issued: IssuedRecord, out = issued.file.replace(/(\.pdf)?$/i, '.zip')): Promise<WrittenPackage> {
    const name = plainName(`${issued.number}-r${issued.revision}`);
    const { contents } = await openPdf(issued.file);
    const attached = [...contents.attachments].map(([file, bytes]) => ofBytes(`carried/${file}`, Buffer.from(bytes)));
    const enclosure = Enclosure.parse(JSON.parse(textOf(contents.attachments, ATTACHED.enclosure)));
    const dossier = Dossier.parse(JSON.parse(textOf(contents.attachments, ATTACHED.dossier)));
    const evidence =
      enclosure.forCase === null
        ? await this.evidenceOf([...dossier.evidence, ...evidenceOfCases(dossier, contents.attachments)])
        : { found: [], leftOut: [PACKAGE.noEvidence] };
    const sources = [ofBytes(`${name}.pdf`, fs.readFileSync(issued.file)), ...attached, ...evidence.found];
    const information: BagInformation = {
      organisation: organisationOf(dossier),
      identifier: PACKAGE.identifier(issued.number, issued.revision),
      description: PACKAGE.description(issued.lot, dossier.demo),
      day: enclosure.printedAt.slice(0, 10),
      program: programName(),
      leftOut: evidence.leftOut,
    };
    const file = path.resolve(out);
    await writeZip(file, name, sources, bagTags(information, sources), new Date(enclosure.printedAt));
    const bytes = sources.reduce((sum, source) => sum + source.bytes, 0);
    return { file, files: sources.length, bytes, leftOut: evidence.leftOut };
  }

  private async evidenceOf(refs: readonly EvidenceRef[]): Promise<{ found: Source[]; leftOut: string[] }> {
    const { evidence } = this.store;
    const found = new Map<string, Source>();
    const leftOut: string[] = [];
    for (const { sha256, fileName } of refs) {
      if (found.has(sha256)) continue;
      if (await evidence.tombstone(sha256)) leftOut.push(PACKAGE.removed(sha256));
      else if (await evidence.liesApart(sha256)) leftOut.push(PACKAGE.apart(sha256));
      else {
        const file = await evidence.pathOf(sha256);
        const counted = await hashOf(file);
        if (counted.sha256 !== sha256) throw new AppError('ALTERED', `evidence ${sha256} was altered`, { sha256 });
        const base = plainName(fileName.split(/[\\/]/).at(-1)!);
        found.set(sha256, { path: `evidence/${sha256.slice(0, 12)}/${base}`, ...counted, content: { file } });
      }
    }
    return { found: [...found.values()], leftOut };
  }
}

/** What the parts of cases name: they stand in the record, and only a whole one brings evidence. */
const evidenceOfCases = ({ parts }: Dossier, attachments: ReadonlyMap<string, Uint8Array>): EvidenceRef[] =>
  parts
    .filter((part) => part.case !== undefined)
    .flatMap(({ name }) => CasePart.parse(JSON.parse(textOf(attachments, name))).evidence);

function textOf(attachments: ReadonlyMap<string, Uint8Array>, name: string): string {
  return Buffer.from(attachments.get(name)!).toString('utf8');
}

function organisationOf({ pinned }: Dossier): string {
  const family = pinned.find(({ kind }) => kind === 'family')?.body as
    | { title: string; manufacturer?: { name: string } }
    | undefined;
  return family?.manufacturer?.name ?? family?.title ?? PACKAGE.noOrganisation;
}

const ofBytes = (name: string, bytes: Buffer): Source => ({
  path: name,
  sha256: sha256Hex(bytes),
  bytes: bytes.length,
  content: bytes,
});

async function hashOf(file: string): Promise<{ sha256: string; bytes: number }> {
  const hash = createHash('sha256');
  let bytes = 0;
  const stream = fs.createReadStream(file, { highWaterMark: 1 << 20 });
  stream.on('data', (chunk) => {
    hash.update(chunk);
    bytes += chunk.length;
  });
  await finished(stream);
  return { sha256: hash.digest('hex'), bytes };
}

/** Whole or not at all: written under a name of its own, synced, and renamed. */
async function writeZip(
  file: string,
  folder: string,
  sources: readonly Source[],
  tags: readonly (readonly [string, string])[],
  mtime: Date,
): Promise<void> {
  const { ZipFile } = createRequire(import.meta.url)('yazl') as ZipLibrary;
  const zip = new ZipFile();
  const options = { mtime, mode: 0o100644, compress: true };
  for (const [name, text] of tags) zip.addBuffer(Buffer.from(text, 'utf8'), `${folder}/${name}`, options);
  for (const { path: name, content } of sources) {
    const target = `${folder}/data/${name}`;
    if (Buffer.isBuffer(content)) zip.addBuffer(content, target, options);
    else zip.addFile(content.file, target, options);
  }
  zip.end();
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const temporary = `${file}.${randomUUID()}.part`;
  try {
    const written = fs.createWriteStream(temporary, { mode: 0o600, flush: true });
    zip.on('error', (error) => written.destroy(error));
    await pipeline(zip.outputStream, written);
    fs.renameSync(temporary, file);
  } finally {
    fs.rmSync(temporary, { force: true });
  }
}
