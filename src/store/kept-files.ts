import { AppError } from '../base/errors.js';
import type { FileFault } from '../ledger/stored-fault.js';
import { checkArchive } from '../process-logs/archive/archive-reader.js';
import type { DataFolder } from './data-folder.js';
import type { EvidenceFiles } from './evidence/evidence-files.js';
import { evidenceOf } from './evidence/evidence-place.js';
import { faultOfFile } from './evidence/file-fault.js';
import { LogArchives } from './log-archives.js';
import { type KnownHead, ReadLog } from './read-log.js';

/** Files that the database names by their hash, read again where they lie. */
export class KeptFiles {
  private readonly archives: LogArchives;

  constructor(
    private readonly folder: DataFolder,
    private readonly evidence: EvidenceFiles = evidenceOf(folder),
  ) {
    this.archives = new LogArchives(folder.archives, evidence);
  }

  /** What is wrong with the bytes that were received, or undefined. */
  evidenceFault(sha256: string): Promise<FileFault | undefined> {
    return this.evidence.faultOf(sha256);
  }

  recordFault(number: string, revision: number, sha256: string): Promise<FileFault | undefined> {
    return faultOfFile(this.folder.recordFile(number, revision), sha256);
  }

  /**
   * What is wrong with the files in which it is noted who read what, each with its name.
   * @param heads that the audit trail was told, by file.
   */
  *readsFaults(heads: ReadonlyMap<string, readonly KnownHead[]>): Generator<[file: string, FileFault | undefined]> {
    const log = ReadLog.of(this.folder);
    for (const file of new Set([...heads.keys(), ...log.files()]))
      yield [file, log.faultOf(file, heads.get(file) ?? [])];
  }

  /** Of the way to the raw rows of a log. One that is not there is no fault: it can be made again from the log. */
  async archiveFault(log: string, sha256: string): Promise<FileFault | undefined> {
    try {
      await checkArchive(await this.archives.placeOf(log, sha256));
      return undefined;
    } catch (error) {
      if (error instanceof AppError && error.code === 'ALTERED') return { code: 'was altered' };
      return { code: 'cannot be read', facts: { error: (error as Error).message } };
    }
  }
}
