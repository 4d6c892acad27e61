import fs from 'node:fs';
import path from 'node:path';
import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { isDayOld } from '../base/day-old.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { Store } from '../store/store.js';
import { StagedFolder } from './staged-folder.js';

const DAY_MS = 24 * 60 * 60_000;
/** What nobody touched for so long is gone. */
export const STAGED_DAYS = 7;
const NAME = /^[\w-]{22}$/;

/**
 * Where folders lie that people send by the browser, between the first byte and the button that stores them: beside the
 * database, each for the person who began it, for some days, and never more of them than there is room for
 * (docs/decisions/staged-uploads.md).
 */
@Injectable()
export class Staging {
  private readonly folders = new Map<string, StagedFolder>();
  private readonly root: string;

  constructor(
    store: Store,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {
    this.root = store.folder.staged;
    if (!fs.existsSync(this.root)) return;
    for (const name of fs.readdirSync(this.root)) {
      const place = path.join(this.root, name);
      // One that another instance begins just now has no state yet.
      const isOld = isDayOld(place);
      const folder = NAME.test(name) ? StagedFolder.open(place) : undefined;
      // Of an upload that was cut off before anything came there is nothing to go on with.
      if (folder && folder.bytes > 0) this.folders.set(name, folder);
      else if (isOld) fs.rmSync(place, { recursive: true, force: true });
    }
  }

  get now(): Date {
    return this.machine.now();
  }

  /** Bytes that may still come, of all people together. */
  get room(): number {
    const taken = [...this.folders.values()].reduce((sum, { bytes }) => sum + bytes, 0);
    return Math.max(0, MOST.stagedBytes - taken);
  }

  /** @throws AppError REFUSED for a person who began as many already, STORAGE when all of them together are too much. */
  begin(person: string): StagedFolder {
    this.dropOld();
    const own = this.ofPerson(person).length;
    if (own >= MOST.stagedOfPerson) {
      const says = `you sent ${own} uploads that are not stored; store one of them or throw it away, and send this one again`;
      throw new AppError('REFUSED', says);
    }
    if (this.room === 0) {
      throw new AppError(
        'STORAGE',
        'uploads that nobody stored yet take all the room there is for them; nothing was done',
      );
    }
    const folder = StagedFolder.begin(this.root, person, this.now);
    this.folders.set(folder.name, folder);
    return folder;
  }

  /** @throws NotFoundError for what is not kept, or is somebody else's. */
  of(person: string, name: string): StagedFolder {
    const folder = this.folders.get(name);
    if (folder?.person === person) return folder;
    throw new NotFoundError(
      'upload',
      name,
      'any more: it was stored, thrown away, left for long, or is somebody else’s',
    );
  }

  /** What a person sent and did not store, the last one first. */
  ofPerson(person: string): StagedFolder[] {
    this.dropOld();
    return [...this.folders.values()]
      .filter((folder) => folder.person === person)
      .sort((a, b) => b.changedAt.localeCompare(a.changedAt));
  }

  drop(folder: StagedFolder): void {
    this.folders.delete(folder.name);
    folder.remove();
  }

  private dropOld(): void {
    const before = this.now.getTime() - STAGED_DAYS * DAY_MS;
    for (const folder of this.folders.values()) if (Date.parse(folder.changedAt) < before) this.drop(folder);
  }
}
