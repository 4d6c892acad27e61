import fs from 'node:fs';
import path from 'node:path';
import type { Problem } from '../base/errors.js';
import { MOST, type Most } from '../base/limits.js';
import { changedFile } from '../store/evidence/plain-file.js';
import { nameProblems, sameName } from './incoming-names.js';
import { nameNotUtf8, noPlainFile, tooManyFiles } from './odd-files.js';

/** A file of the folder that is taken in. `name` is its path inside the folder, with forward slashes. */
export interface FoundFile {
  readonly name: string;
  readonly path: string;
}

export interface ListedFolder {
  readonly files: FoundFile[];
  /** Names that begin with a dot: they are no documents and are passed over, a folder as a whole. */
  readonly hidden: string[];
  readonly problems: Problem[];
}

/**
 * Reads a file that is read whole, in one go and as it stands.
 * @returns its bytes; undefined, and one problem more, for a file that is too long or changed meanwhile.
 */
export function readWhole({ name, path: file }: FoundFile, most: number, problems: Problem[]): Buffer | undefined {
  const { O_RDONLY, O_NOFOLLOW, O_NONBLOCK } = fs.constants;
  const handle = fs.openSync(file, O_RDONLY | O_NOFOLLOW | O_NONBLOCK);
  try {
    const before = fs.fstatSync(handle, { bigint: true });
    if (before.size > BigInt(most)) {
      problems.push(tooLong(name, before.size, most));
      return undefined;
    }
    const bytes = fs.readFileSync(handle);
    const after = fs.fstatSync(handle, { bigint: true });
    if (after.mtimeNs === before.mtimeNs && after.size === BigInt(bytes.length)) return bytes;
    problems.push(
      changedFile(name, `a file that changed while it was read (${before.size} bytes, then ${after.size})`),
    );
    return undefined;
  } finally {
    fs.closeSync(handle);
  }
}

const tooLong = (file: string, size: bigint, most: number): Problem => ({
  code: 'too-long',
  file,
  found: `${size} bytes`,
  expected: `at most ${most} bytes of a file that is read whole`,
  remedy: 'split it; a log of a machine may be as long as it is, where the lot file names it and outside of results/',
});

/**
 * Lists all files below a folder, without following links: a link may lead outside. Whatever is no plain file with a
 * plain name is a problem, and too many names end the listing.
 */
export function listFolder(root: string, most: Most = MOST): ListedFolder {
  const listed: ListedFolder = { files: [], hidden: [], problems: [] };
  const { files, hidden, problems } = listed;
  const seen = new Map<string, string>();
  let count = 0;
  const visit = (folder: string): void => {
    const inside = folder === '' ? root : path.join(root, folder);
    for (const entry of entriesOf(inside, most.files - count)) {
      count += 1;
      const text = nameText(entry.name);
      if (text === undefined) {
        problems.push(nameNotUtf8(folder, entry.name));
        continue;
      }
      const name = folder === '' ? text : `${folder}/${text}`;
      if (text.startsWith('.')) {
        hidden.push(entry.isDirectory() ? `${name}/` : name);
        continue;
      }
      const wrong =
        entry.isDirectory() || entry.isFile() ? nameProblems(name, seen) : [noPlainFile(name, kindOf(entry))];
      problems.push(...wrong);
      if (wrong.length > 0) continue;
      if (entry.isDirectory()) visit(name);
      else files.push({ name, path: path.join(root, name) });
      if (count > most.files) return;
    }
  };
  visit('');
  if (count > most.files) problems.push(tooManyFiles(most.files));
  return listed;
}

type Entry = Omit<fs.Dirent, 'name'> & { readonly name: Buffer };

/** In the order of their names. A folder is read one name at a time: it may hold more than memory does. */
function entriesOf(folder: string, most: number): Entry[] {
  const opened = fs.opendirSync(folder, { encoding: 'buffer' as BufferEncoding });
  const entries: Entry[] = [];
  try {
    for (let entry = opened.readSync(); entry !== null && entries.length <= most; entry = opened.readSync()) {
      entries.push(entry as unknown as Entry);
    }
  } finally {
    opened.closeSync();
  }
  return entries.sort((a, b) => a.name.compare(b.name));
}

function nameText(name: Buffer): string | undefined {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(name);
  } catch {
    return undefined;
  }
}

function kindOf(entry: Entry): string {
  if (entry.isSymbolicLink()) return 'a link';
  if (entry.isFIFO()) return 'a pipe';
  if (entry.isSocket()) return 'a socket';
  return entry.isBlockDevice() || entry.isCharacterDevice() ? 'a device' : 'neither a file nor a folder';
}

/** The files of a folder by their names, however the accents of a name are written. */
export class FilesByName {
  private readonly byName: ReadonlyMap<string, FoundFile>;

  constructor(files: readonly FoundFile[]) {
    this.byName = new Map(files.map((file) => [sameName(file.name), file]));
  }

  get(name: string): FoundFile | undefined {
    return this.byName.get(sameName(name));
  }
}

/** Folders that hold a lot.yaml. */
export class LotFolders {
  private readonly folders: ReadonlySet<string>;

  constructor(files: readonly FoundFile[]) {
    const lots = files.filter((file) => path.posix.basename(file.name) === 'lot.yaml');
    this.folders = new Set(lots.map((file) => path.posix.dirname(file.name)));
  }

  /** The one that a file belongs to: of several, the outermost. */
  of(name: string): string | undefined {
    const steps = name.split('/').slice(0, -1);
    const above = ['.', ...steps.map((_, index) => steps.slice(0, index + 1).join('/'))];
    return above.find((folder) => this.folders.has(folder));
  }
}

export const inside = (folder: string, name: string): boolean => folder === '.' || name.startsWith(`${folder}/`);

export const joined = (folder: string, name: string): string => (folder === '.' ? name : `${folder}/${name}`);
