import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { indexPath } from '../process-logs/archive/archive-writer.js';
import type { EvidenceFiles } from './evidence/evidence-files.js';

/** Archives that were begun this long ago belong to nobody any more. */
const LEFT_BEHIND_MS = 24 * 3_600_000;

/**
 * Raw rows of scanned logs, each archive named by the SHA-256 of the log as received. They are derived from the evidence
 * and can be made again from it, so nothing rests on them.
 */
export class LogArchives {
  constructor(
    private readonly folder: string,
    private readonly evidence: Pick<EvidenceFiles, 'tombstone'>,
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
    fs.rmSync(indexPath(target), { force: true });
    fs.renameSync(begun, target);
    fs.renameSync(indexPath(begun), indexPath(target));
  }

  /** Clears away what a scan began and did not finish. */
  drop(begun: string): void {
    for (const file of [begun, indexPath(begun), `${indexPath(begun)}.new`]) fs.rmSync(file, { force: true });
  }

  /** Removes the raw rows of a log whose bytes must go. */
  remove(sha256: string): void {
    this.drop(this.pathOf(sha256));
  }

  has(sha256: string): boolean {
    return fs.existsSync(indexPath(this.pathOf(sha256)));
  }

  pathOf(sha256: string): string {
    return path.join(this.folder, sha256.slice(0, 2), `${sha256}.gz`);
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
