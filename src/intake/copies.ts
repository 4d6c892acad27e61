import { BadInputError, type Problem } from '../base/errors.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { ReceivedFile } from '../store/evidence/evidence-files.js';
import { changedFile } from '../store/evidence/plain-file.js';
import type { Store } from '../store/store.js';
import { type FoundFile, joined } from './folder.js';
import { Known } from './known.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import type { ReadDocument } from './yaml-document.js';

/** What was copied of a folder. Copies that do not become evidence are let go. */
export interface Copies {
  /** By the path of the file. */
  readonly files: Map<string, ReceivedFile>;
  /** Of documents that are not recorded yet. */
  readonly documents: Map<ReadDocument, ReceivedFile>;
  /** Those of them that the change under way records. */
  readonly toKeep: Set<ReceivedFile>;
}

/**
 * Copies every file that is to be kept, and writes down documents that make a revision as they were received: what was
 * read from them is no copy of them.
 * @throws BadInputError naming every file that changed while it was copied, or since it was checked.
 */
export async function receive(store: Store, read: ReadFolder): Promise<Copies> {
  const copies: Copies = { files: new Map(), documents: new Map(), toKeep: new Set() };
  try {
    await receiveInto(store, copies, read);
    return copies;
  } catch (error) {
    dropAll(copies);
    throw error;
  }
}

async function receiveInto(store: Store, { files, documents }: Copies, read: ReadFolder): Promise<void> {
  const named = [...read.site, ...read.lots].flatMap((item) => item.files);
  const personal = new Set(named.filter(({ use }) => use === PERSONAL_DATA).map((file) => file.path));
  const problems: Problem[] = [];
  const copy = async ({ path: file, name }: FoundFile) => {
    const personalData = personal.has(file);
    if (!files.has(file)) files.set(file, await store.evidence.receive(file, { personalData, name }));
    return files.get(file)!;
  };
  const hold = (name: string, received: ReceivedFile, sha256 = received.sha256) => {
    if (received.sha256 !== sha256) problems.push(changedFile(name, 'other bytes than were checked'));
  };
  for (const file of named) {
    const received = await copy(file).catch(collectInto(problems));
    if (received) hold(file.name, received, file.sha256);
  }
  for (const { folder, sheets, exposures, shapes = [] } of read.lots) {
    for (const sheet of [...sheets, ...exposures, ...shapes.flatMap((shape) => shape.sheet ?? [])]) {
      const file = { path: sheet.path, name: joined(folder, sheet.file) };
      const received = await copy(file).catch(collectInto(problems));
      if (received) hold(file.name, received, sheet.sha256);
    }
    // What is stored already is no file of the folder.
    for (const { name, path, sha256 } of shapes.flatMap(({ measured }) => measured)) {
      const received = files.get(path);
      if (received) hold(name, received, sha256);
    }
  }
  if (problems.length > 0) throw new BadInputError(problems);
  const known = new Known(store.read, documentsOf(read));
  for (const document of documentsOf(read)) {
    if (await known.isRecorded(document)) continue;
    documents.set(document, await store.evidence.receive(document.bytes));
  }
}

/** Becomes evidence with the change that records it. */
export function toBeKept({ toKeep }: Copies, copy: ReceivedFile): ReceivedFile {
  toKeep.add(copy);
  return copy;
}

export function dropAll({ files, documents }: Copies): void {
  for (const copy of [...files.values(), ...documents.values()]) copy.drop();
}

/** Problems of one file join those of the others; any other error ends the intake. */
const collectInto =
  (problems: Problem[]) =>
  (error: unknown): undefined => {
    if (!(error instanceof BadInputError)) throw error;
    problems.push(...error.problems);
  };
