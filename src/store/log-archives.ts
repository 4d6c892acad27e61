import { hash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import type { ArchivedLog } from '../process-logs/archive/archive-reader.js';
import { indexPath, packedPath } from '../process-logs/archive/archive-writer.js';
import type { EvidenceFiles } from './evidence/evidence-files.js';

/** Archives that were begun this long ago belong to nobody any more. */
const LEFT_BEHIND_MS = 24 * 3_600_000;

/**
 * Ways to the raw rows of scanned logs, each archive named by the SHA-256 of the log as received. They are derived from the
 * evidence and can be made again from it. The audit trail names the SHA-256 of each index, and the index those of its
 * pieces, so that what is shown of them is what was scanned.
 */
export class LogArchives {
  constructor(
    private readonly folder: string,
    private readonly evidence: Pick<EvidenceFiles, 'tombstone' | 'placed'>,
  ) {}

  /** Where an archive may be written while the hash of its log is not yet known. */
  begin(): string {
    const incoming = path.join(this.folder, 'incoming');
    fs.mkdirSync(incoming, { recursive: true });
    sweep(incoming);
    return path.join(incoming, randomUUID());
  }

  /**
   * Gives a finished archive its name. One that is there already is replaced: both come from the same log. Of a log whose
   * bytes were removed from the evidence, nothing is kept here either.
   */
  async settle(begun: string, sha256: string): Promise<void> {
    if (await this.evidence.tombstone(sha256)) {
      this.drop(begun);
      return;
    }
    const target = this.pathOf(sha256);
    fs.mkdirSync(path.dirname(target), { recursive: true });
    // Without its index an archive counts as absent, so whatever happens in between, no index points into another archive.
    this.drop(target);
    if (fs.existsSync(packedPath(begun))) fs.renameSync(packedPath(begun), packedPath(target));
    fs.renameSync(indexPath(begun), indexPath(target));
  }

  /** Clears away what a scan began and did not finish. */
  drop(begun: string): void {
    for (const file of [indexPath(begun), `${indexPath(begun)}.new`, packedPath(begun)])
      fs.rmSync(file, { force: true });
  }

  /** Removes the way to the raw rows of a log whose bytes must go. */
  remove(sha256: string): void {
    this.drop(this.pathOf(sha256));
  }

  has(sha256: string): boolean {
    return fs.existsSync(indexPath(this.pathOf(sha256)));
  }

  /** SHA-256 of the index of a finished archive, for the audit trail. */
  digestOf(begun: string): string {
    return hash('sha256', fs.readFileSync(indexPath(begun)), 'hex');
  }

  /**
   * Where the raw rows of a log can be read, when there is an archive of it.
   * @param recorded SHA-256 of its index as the audit trail names it.
   */
  async placeOf(sha256: string, recorded: string | undefined): Promise<ArchivedLog> {
    const { path: log } = await this.evidence.placed(sha256, 'bytes');
    return { archive: this.pathOf(sha256), sha256: recorded, log };
  }

  private pathOf(sha256: string): string {
    return path.join(this.folder, sha256.slice(0, 2), sha256);
  }
}

/** A process that was killed leaves its half archive behind. */
function sweep(incoming: string): void {
  for (const name of fs.readdirSync(incoming)) {
    const file = path.join(incoming, name);
    const found = fs.statSync(file, { throwIfNoEntry: false });
    if (found !== undefined && Date.now() - found.mtimeMs > LEFT_BEHIND_MS) fs.rmSync(file, { force: true });
  }
}
