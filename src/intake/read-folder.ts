import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { NamedFile } from '../kinds/kind.js';
import { Lot } from '../kinds/lot.js';
import { readUnitsSidecar } from '../process-logs/units-sidecar.js';
import { certificateProblems } from './calibration-rules.js';
import { type ExposureSheet, readExposureSheet } from './exposure-sheets.js';
import { FilesByName, type FoundFile, inside, joined, LotFolders, listFolder, readWhole } from './folder.js';
import type { InstrumentExport } from './instrument-exports.js';
import type { MeasuredShape } from './measured-shape.js';
import { patientImageProblems } from './patient-images.js';
import type { ResultSheet } from './result-rules.js';
import { readResultSheet } from './results-file.js';
import { type ReadDocument, readYaml } from './yaml-document.js';

/** A file that a document names, found in the folder. */
export interface ReferencedFile extends FoundFile {
  readonly field: string;
  readonly use: NamedFile['name'];
  /** SHA-256 of what was read of it, where something was before it is copied: the copy has to be the same. */
  readonly sha256?: string;
}

export interface SiteDocument {
  readonly document: ReadDocument;
  readonly files: readonly ReferencedFile[];
}

export interface LotFolder {
  readonly folder: string;
  readonly document: ReadDocument;
  readonly lot: Lot;
  readonly files: readonly ReferencedFile[];
  readonly sheets: readonly (ResultSheet & { readonly path: string })[];
  readonly exposures: readonly ExposureSheet[];
  /** Scans as they were measured. */
  readonly shapes?: readonly MeasuredShape[];
  /** Files of instruments, which become sheets by their profiles. */
  readonly exports?: readonly InstrumentExport[];
  /** Set where it is a lot of the store with new sheets: its other files are stored, its logs scanned. */
  readonly isStored?: true;
}

export interface ReadFolder {
  readonly site: readonly SiteDocument[];
  readonly lots: readonly LotFolder[];
  /** Files of instruments for lots that are stored, in `exports/LOT/PROFILE` outside of any folder of a lot. */
  readonly exportsFor?: readonly { readonly lot: string; readonly export: InstrumentExport }[];
  /** Files that no document names, and hidden ones: they are not kept. */
  readonly unused: readonly string[];
}

const isYaml = (name: string): boolean => /\.ya?ml$/i.test(name);

/**
 * Reads a site folder, a lot folder, or a folder that holds both, and checks every file by itself.
 * @throws BadInputError with every problem of every file at once.
 */
export async function readFolder(root: string): Promise<ReadFolder> {
  if (!fs.existsSync(root) || !fs.statSync(root).isDirectory()) {
    throw new BadInputError([
      { code: 'no-folder', found: root, expected: 'a folder', remedy: 'name a folder with documents or a lot folder' },
    ]);
  }
  const { files, hidden, problems } = listFolder(root);
  const folders = new LotFolders(files);
  const byName = new FilesByName(files);
  const used = new Set<string>();
  const site: SiteDocument[] = [];
  const lots: LotFolder[] = [];
  let [held, rows] = [0, 0];
  for (const file of files.filter((item) => isYaml(item.name))) {
    const folder = folders.of(file.name);
    if (folder !== undefined && file.name !== joined(folder, 'lot.yaml')) continue;
    used.add(file.name);
    if (problems.length > MOST.problems)
      throw new BadInputError([...problems.slice(0, MOST.problems), restNotRead(file.name)]);
    const bytes = readWhole(file, MOST.documentBytes, problems);
    if (!bytes) continue;
    held += bytes.length;
    if (held > MOST.documentsBytes)
      throw new BadInputError([...problems, tooMuchInAll(file.name, 'bytes of documents', MOST.documentsBytes)]);
    const read = readYaml(file.name, bytes);
    problems.push(...read.problems);
    if (!read.document) continue;
    const isLot = read.document.kind.kind === 'lot';
    if (isLot !== (folder !== undefined)) {
      problems.push({
        code: 'place',
        file: file.name,
        found: `a document of kind ${read.document.kind.kind}`,
        expected: isLot ? 'the name lot.yaml in a folder of its own' : 'kind: lot in lot.yaml',
        remedy: isLot ? 'rename the file to lot.yaml' : 'move the document out of the lot folder',
      });
      continue;
    }
    const base = folder ?? path.posix.dirname(file.name);
    const referenced = findFiles(read.document, base, byName, problems);
    for (const item of referenced) used.add(item.name);
    problems.push(...sidecarProblems(referenced));
    problems.push(...patientImageProblems(read.document, referenced));
    problems.push(...(await certificateProblems(read.document, referenced)));
    if (folder === undefined) site.push({ document: read.document, files: referenced });
    else {
      const sheets = readSheets(folder, files, problems);
      for (const sheet of sheets) {
        used.add(joined(folder, sheet.file));
        rows += sheet.rows.length;
        if (rows > MOST.sheetsRows)
          throw new BadInputError([
            ...problems,
            tooMuchInAll(joined(folder, sheet.file), 'rows of result sheets', MOST.sheetsRows),
          ]);
      }
      const lot = Lot.parse(read.document.body);
      const exposures = readExposures(folder, files, lot, problems);
      for (const { file: name } of exposures) used.add(joined(folder, name));
      const exports = readExports(folder, files, problems);
      for (const { file: name } of exports) used.add(joined(folder, name));
      lots.push({ folder, document: read.document, lot, files: referenced, sheets, exposures, exports });
    }
  }
  const exportsFor = exportsOfStoredLots(
    files.filter(({ name }) => !used.has(name)),
    folders,
    problems,
  );
  for (const { export: item } of exportsFor) used.add(item.at!);
  if (site.length + lots.length + exportsFor.length === 0 && problems.length === 0) {
    problems.push({
      code: 'nothing-to-take-in',
      found: `${files.length} files and no document`,
      expected: 'YAML documents, or a folder with lot.yaml',
      remedy: 'name the folder that holds the documents',
    });
  }
  if (problems.length > 0) throw new BadInputError(problems);
  return {
    site,
    lots,
    exportsFor,
    unused: [...files.map((file) => file.name).filter((name) => !used.has(name)), ...hidden],
  };
}

function findFiles(document: ReadDocument, base: string, files: FilesByName, problems: Problem[]): ReferencedFile[] {
  return document.kind.files(document.body).flatMap(({ path: named, field, name: use }) => {
    const full = path.posix.normalize(joined(base, named));
    const found = files.get(full);
    if (found) {
      problems.push(...tooLongToKeep(found));
      return [{ ...found, field, use }];
    }
    problems.push({
      code: 'file-missing',
      file: document.file,
      line: document.lineOf(field),
      field,
      found: `no file ${full}`,
      expected: 'a file inside this folder',
      remedy: 'put the file there, or correct the path',
    });
    return [];
  });
}

const restNotRead = (file: string): Problem => ({
  code: 'too-many-problems',
  file,
  found: `${MOST.problems} things that are wrong in the files before`,
  expected: 'a folder of which single values are wrong',
  remedy: 'mend what is told first; files from here on were not read',
});

/** @param file with which it became too much: what comes behind it is not read. */
const tooMuchInAll = (file: string, what: string, most: number): Problem => ({
  code: 'too-much-in-all',
  file,
  found: `more than ${most} ${what} up to this file`,
  expected: `at most ${most} in one folder`,
  remedy: 'take in a part of the folder at a time',
});

function tooLongToKeep({ name, path: file }: FoundFile): Problem[] {
  const bytes = fs.statSync(file).size;
  if (bytes <= MOST.evidenceBytes) return [];
  const expected = `at most ${MOST.evidenceBytes} bytes of a file that is kept`;
  return [{ code: 'too-long', file: name, found: `${bytes} bytes`, expected, remedy: 'split it' }];
}

/** A sidecar is read when its log is; what is wrong with it is told with all the rest. */
function sidecarProblems(files: readonly ReferencedFile[]): readonly Problem[] {
  return files
    .filter(({ use }) => use === 'units of a log')
    .flatMap((file) => {
      const problems: Problem[] = [];
      try {
        const bytes = readWhole(file, MOST.documentBytes, problems);
        if (bytes) readUnitsSidecar(bytes, file.name);
        return problems;
      } catch (error) {
        if (error instanceof BadInputError) return error.problems;
        throw error;
      }
    });
}

function readSheets(folder: string, files: readonly FoundFile[], problems: Problem[]) {
  return files
    .filter((file) => inside(joined(folder, 'results'), file.name) && file.name.endsWith('.csv'))
    .flatMap((file) => {
      const bytes = readWhole(file, MOST.sheetBytes, problems);
      if (!bytes) return [];
      const read = readResultSheet(file.name, bytes);
      problems.push(...read.problems);
      // Of a prepared sheet in which nothing is filled in yet there is nothing to keep.
      if (read.rows.length === 0) return [];
      const name = nameIn(folder, file);
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      return [{ file: name, path: file.path, sha256, rows: read.rows }];
    });
}

function readExposures(folder: string, files: readonly FoundFile[], lot: Lot, problems: Problem[]): ExposureSheet[] {
  return files
    .filter((file) => inside(joined(folder, 'exposures'), file.name) && file.name.endsWith('.csv'))
    .flatMap((file) => {
      const bytes = readWhole(file, MOST.sheetBytes, problems);
      if (!bytes) return [];
      const read = readExposureSheet(file, nameIn(folder, file), bytes, lot);
      problems.push(...read.problems);
      return read.sheet.rows.length === 0 ? [] : [read.sheet];
    });
}

/** Each lies in a folder that is named by its profile: `exports/ICP-1/2031-03-04.csv`. */
function readExports(folder: string, files: readonly FoundFile[], problems: Problem[]): InstrumentExport[] {
  const root = joined(folder, 'exports');
  return files
    .filter((file) => inside(root, file.name))
    .flatMap((file) => {
      const [profile, ...rest] = file.name.slice(root.length + 1).split('/');
      const bytes = rest.length === 0 ? undefined : readWhole(file, MOST.sheetBytes, problems);
      if (!bytes) return [];
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      return [{ file: nameIn(folder, file), path: file.path, sha256, bytes, profile: profile! }];
    });
}

/**
 * Of a lot that is stored nothing else has to come with the file: `exports/L-1/ICP-1/2031-03-04.csv`.
 * @param files without those that are documents, or that one names.
 */
function exportsOfStoredLots(
  files: readonly FoundFile[],
  folders: LotFolders,
  problems: Problem[],
): { lot: string; export: InstrumentExport }[] {
  return files.flatMap((file) => {
    const [, lot, profile, name] = /^(?:.*\/)?exports\/([^/]+)\/([^/]+)\/(.+)$/.exec(file.name) ?? [];
    if (lot === undefined || folders.of(file.name) !== undefined) return [];
    const bytes = readWhole(file, MOST.sheetBytes, problems);
    if (!bytes) return [];
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    // The same name as with the folder of its lot, so that it is the same file.
    const inLot = `exports/${profile}/${name}`;
    return [{ lot, export: { file: inLot, at: file.name, path: file.path, sha256, bytes, profile: profile! } }];
  });
}

/** Named from the lot folder on, so that the same lot taken in from elsewhere is the same lot. */
const nameIn = (folder: string, { name }: FoundFile): string => (folder === '.' ? name : name.slice(folder.length + 1));

/** Every document of a folder, or of a part of it, in the order in which they are stored. */
export const documentsOf = ({ site, lots }: Pick<ReadFolder, 'site' | 'lots'>): ReadDocument[] => [
  ...site.map((item) => item.document),
  ...lots.flatMap(({ document, exposures }) => [document, ...exposureDocuments(exposures)]),
];

export const exposureDocuments = (sheets: readonly ExposureSheet[]): ReadDocument[] =>
  sheets.flatMap(({ rows }) => rows.map(({ document }) => document));
