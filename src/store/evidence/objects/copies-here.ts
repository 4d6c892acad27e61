import fs from 'node:fs';
import path from 'node:path';
import { stampOf } from '../plain-file.js';

const HOUR_MS = 3_600_000;
/** What nobody looked at for so long goes. */
const UNUSED_MS = 7 * 24 * HOUR_MS;
/** Whoever was given the path of a copy may still be about to open it. */
const IN_USE_MS = HOUR_MS;

/**
 * Copies of far objects in a folder of this machine, by their names. They are let go of when nobody used them for a week, and
 * the longest unused first when they take more room than they may.
 */
export class CopiesHere {
  /** What copies looked like when this process last hashed them. */
  private readonly hashed = new Map<string, string>();
  /** How often this process handed a copy out. */
  private readonly handedOut = new Map<string, number>();

  constructor(
    private readonly folder: string,
    private readonly mostBytes: number,
  ) {
    fs.mkdirSync(folder, { recursive: true, mode: 0o700 });
  }

  find(name: string): string | undefined {
    const file = this.fileOf(name);
    return fs.existsSync(file) ? file : undefined;
  }

  /** Whether this process hashed the copy, and nobody touched it since. */
  isAsHashed(name: string): boolean {
    const known = this.hashed.get(name);
    return known !== undefined && known === stampOf(this.fileOf(name));
  }

  /** @param file a whole one that was hashed just now; it is moved here, over one that is here. */
  take(name: string, file: string): string {
    const copy = this.fileOf(name);
    fs.renameSync(file, copy);
    // Two names of one file stay two when one is moved over the other.
    fs.rmSync(file, { force: true });
    this.handedOut.delete(name);
    this.use(name);
    this.sweep();
    return copy;
  }

  /** Notes that a copy was hashed, and is used now. */
  use(name: string): void {
    this.touch(name);
    this.hashed.set(name, stampOf(this.fileOf(name)));
  }

  /** Shows every process that a copy is used now. */
  touch(name: string): void {
    const now = new Date();
    fs.utimesSync(this.fileOf(name), now, now);
  }

  handOut(name: string): void {
    this.handedOut.set(name, (this.handedOut.get(name) ?? 0) + 1);
  }

  /** Lets go of a copy that was handed out once, when nobody else, here or in another process, has used it. */
  letGoUnlessShared(name: string): void {
    if (this.find(name) === undefined) return;
    if (this.handedOut.get(name) === 1 && this.isAsHashed(name)) this.letGo(name);
  }

  letGo(name: string): void {
    this.hashed.delete(name);
    this.handedOut.delete(name);
    fs.rmSync(this.fileOf(name), { force: true });
  }

  sweep(now = Date.now()): void {
    const found = fs.readdirSync(this.folder).flatMap((file) => {
      const stat = fs.statSync(path.join(this.folder, file), { throwIfNoEntry: false });
      return stat ? [{ file, bytes: stat.size, usedMs: stat.mtimeMs }] : [];
    });
    let bytes = found.reduce((sum, one) => sum + one.bytes, 0);
    for (const one of found.sort((a, b) => a.usedMs - b.usedMs)) {
      const unusedMs = now - one.usedMs;
      if (unusedMs < UNUSED_MS && (bytes <= this.mostBytes || unusedMs < IN_USE_MS)) continue;
      fs.rmSync(path.join(this.folder, one.file), { force: true });
      bytes -= one.bytes;
    }
  }

  private fileOf(name: string): string {
    return path.join(this.folder, name.replaceAll('/', '-'));
  }
}
