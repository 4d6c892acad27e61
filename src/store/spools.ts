import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { isDayOld } from '../base/day-old.js';
import { isGone } from '../base/process-gone.js';

/** Files that came in and are not checked yet, in a folder of their own. */
export interface Spool {
  readonly path: string;
  /** Lets go of all of them. What became evidence was copied. */
  remove(): void;
}

/** Spools of this process, of whatever data folder: a process that was started anew may have the number of the last one. */
const own = new Set<string>();

/** Services of several machines may share the folder, and the number of a process means something on its own alone. */
const MACHINE = createHash('sha256').update(os.hostname()).digest('hex').slice(0, 8);

/**
 * Where documents of pages and uploads lie until they are taken in or refused: on the disk of the data folder. What a
 * process that was killed left goes when the folder is opened again.
 */
export class Spools {
  constructor(private readonly folder: string) {
    this.removeLeftBehind();
  }

  begin(): Spool {
    const made = path.join(this.folder, `${process.pid}-${MACHINE}-${randomUUID()}`);
    own.add(made);
    fs.mkdirSync(made, { recursive: true, mode: 0o700 });
    const remove = () => {
      fs.rmSync(made, { recursive: true, force: true });
      own.delete(made);
    };
    return { path: made, remove };
  }

  private removeLeftBehind(): void {
    if (!fs.existsSync(this.folder)) return;
    for (const name of fs.readdirSync(this.folder)) {
      const spool = path.join(this.folder, name);
      if (this.isLeftBehind(spool)) fs.rmSync(spool, { recursive: true, force: true });
    }
  }

  private isLeftBehind(spool: string): boolean {
    const [number, machine] = path.basename(spool).split('-');
    const pid = Number(number);
    if (machine === MACHINE && pid > 0) return pid === process.pid ? !own.has(spool) : isGone(pid);
    // Of another machine, or of this one under another name.
    return isDayOld(spool);
  }
}
