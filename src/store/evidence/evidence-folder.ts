import fs from 'node:fs';
import path from 'node:path';
import type { FileFault } from '../../ledger/stored-fault.js';
import type { EvidencePort, FinishedFile } from './evidence-port.js';
import { faultOfFile } from './file-fault.js';
import { syncFolder } from './plain-file.js';

/** Evidence in a folder of this machine, in groups by the first two digits: `ab/ab12…`, `personal/ab/ab12…`. */
export class EvidenceFolder implements EvidencePort {
  readonly isFar = false;

  /** @param waitsForDisk whether names have to be on the disk when `put` returns. */
  constructor(
    private readonly folder: string,
    private readonly waitsForDisk = true,
  ) {}

  /** A file is renamed into its place; names are synced once for all files, since each sync takes its time. */
  async put(files: readonly FinishedFile[]): Promise<void> {
    const unsynced = new Set<string>();
    for (const { name, file } of files) {
      const target = this.placeOf(name);
      if (fs.existsSync(target)) continue;
      fs.mkdirSync(path.dirname(target), { recursive: true, mode: 0o700 });
      fs.renameSync(file, target);
      for (let folder = path.dirname(target); folder.startsWith(this.folder); folder = path.dirname(folder)) {
        unsynced.add(folder);
      }
    }
    if (this.waitsForDisk) for (const folder of unsynced) syncFolder(folder);
  }

  async get(name: string): Promise<string | undefined> {
    return this.here(name);
  }

  here(name: string): string | undefined {
    const place = this.placeOf(name);
    return fs.existsSync(place) ? place : undefined;
  }

  async sizesOf(names: readonly string[]): Promise<Map<string, number>> {
    const sizes = new Map<string, number>();
    for (const name of names) {
      const found = fs.statSync(this.placeOf(name), { throwIfNoEntry: false });
      if (found) sizes.set(name, found.size);
    }
    return sizes;
  }

  faultOf(name: string, sha256: string): Promise<FileFault | undefined> {
    return faultOfFile(this.placeOf(name), sha256);
  }

  async list(): Promise<string[]> {
    return [
      ...namesIn(this.folder),
      ...namesIn(path.join(this.folder, 'personal')).map((name) => `personal/${name}`),
    ].sort();
  }

  async remove(name: string): Promise<void> {
    const place = this.placeOf(name);
    if (!fs.existsSync(place)) return;
    fs.rmSync(place);
    syncFolder(path.dirname(place));
  }

  /** Nothing is fetched. */
  letGo(): void {}

  adopt(): void {}

  async reach(): Promise<void> {
    await fs.promises.access(this.folder, fs.constants.W_OK);
  }

  /** Where the bytes of a name lie, or would. */
  placeOf(name: string): string {
    const base = path.posix.basename(name);
    return path.join(this.folder, path.posix.dirname(name), base.slice(0, 2), base);
  }
}

function namesIn(folder: string): string[] {
  if (!fs.existsSync(folder)) return [];
  const groups = fs.readdirSync(folder).filter((name) => /^[0-9a-f]{2}$/.test(name));
  return groups.flatMap((group) => fs.readdirSync(path.join(folder, group)));
}
