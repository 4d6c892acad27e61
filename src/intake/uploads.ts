import fs from 'node:fs';
import path from 'node:path';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { Store } from '../store/store.js';
import type { Sent } from '../web/upload.js';
import { IncomingFolder, nothingSent } from './incoming-folder.js';
import { Intake } from './intake.js';
import type { IntakeReport } from './intake-report.js';
import { demandMayTakeIn, type Sender } from './may-take-in.js';
import type { StagedFolder } from './staged-folder.js';
import { Staging } from './staging.js';
import { unpack } from './unpack.js';

/** The body holds names and boundaries beside the files. */
export const UPLOAD_FILES = { field: 'files', mostBytes: MOST.uploadBytes + (64 << 20) };

const ZIP = /\.zip$/i;
const ARCHIVE = /\.(?:zip|7z|rar|tar|tgz|tar\.(?:gz|xz|bz2|zst))$/i;

/**
 * Takes in folders, files or a ZIP that come by the browser: they are spooled, and then go the way of every folder. The
 * spool goes in any case, so what was cut off leaves nothing.
 */
@Injectable()
export class Uploads implements OnApplicationShutdown {
  private readonly running = new Set<Promise<unknown>>();

  constructor(
    private readonly store: Store,
    private readonly intake: Intake,
    private readonly staging: Staging,
  ) {}

  /**
   * @param check stores nothing.
   * @throws AppError REFUSED for who may not, BUSY when too many are under way; BadInputError for what is wrong with names
   * and sizes; and as `Intake.run`.
   */
  async take(upload: Sent, sender: Sender, check: boolean): Promise<IntakeReport> {
    await demandMayTakeIn(this.store, sender);
    return this.counted(() => this.takeIn(upload, sender, check), upload);
  }

  private async counted<T>(begin: () => Promise<T>, upload: Sent): Promise<T> {
    if (this.running.size >= MOST.uploadsAtOnce) {
      const busy = `${this.running.size} uploads are being taken in; nothing of this one was read: send it again when one of them is done`;
      throw new AppError('BUSY', busy, { waitS: 60 });
    }
    const work = begin();
    this.running.add(work);
    try {
      return await work;
    } catch (error) {
      throw upload.gone.aborted && !(error instanceof AppError) ? cutOff() : error;
    } finally {
      this.running.delete(work);
    }
  }

  /** Begins a folder with what is sent. @throws as `addTo`; then nothing is left of it. */
  async begin(upload: Sent, sender: Sender): Promise<StagedFolder> {
    await demandMayTakeIn(this.store, sender);
    const folder = this.staging.begin(sender.person);
    try {
      await this.addTo(folder, upload, sender);
      return folder;
    } catch (error) {
      this.staging.drop(folder);
      throw error;
    }
  }

  /**
   * Adds what is sent to a folder that is not stored yet.
   * @throws AppError REFUSED for who may not, BUSY when too many are under way; BadInputError for what is wrong with names
   * and sizes: nothing is added then.
   */
  async addTo(folder: StagedFolder, upload: Sent, sender: Sender): Promise<void> {
    await demandMayTakeIn(this.store, sender);
    await this.counted(() => folder.add(upload, this.staging.room, this.staging.now), upload);
  }

  /** Their senders are gone by now, which ends them; the store is closed after they let go of it. */
  async onApplicationShutdown(): Promise<void> {
    await Promise.allSettled(this.running);
  }

  private async takeIn(upload: Sent, { actor }: Sender, check: boolean): Promise<IntakeReport> {
    const spool = this.store.spools.begin();
    try {
      const { root, hidden } = await receive(upload, spool.path);
      return await this.intake.run(root, actor, {
        passedOver: [...hidden],
        check,
        inOneChange: true,
        signal: upload.gone,
        refuseUnused: archivesIn,
      });
    } finally {
      spool.remove();
    }
  }
}

/** @returns the folder that came, or what the one ZIP that came holds, and what was passed over as hidden. */
async function receive(upload: Sent, spool: string): Promise<{ root: string; hidden: ReadonlySet<string> }> {
  const root = path.join(spool, 'received');
  fs.mkdirSync(root);
  const folder = new IncomingFolder(root);
  const names: string[] = [];
  for await (const { name, bytes } of upload.files()) {
    names.push(name);
    await folder.write(name, bytes);
  }
  if (names.length === 0) throw new BadInputError([nothingSent()]);
  folder.refuseProblems();
  const [only = ''] = names;
  if (names.length > 1 || !ZIP.test(only)) return { root, hidden: folder.hidden };
  const unpacked = path.join(spool, 'unpacked');
  fs.mkdirSync(unpacked);
  const packed = new IncomingFolder(unpacked);
  await unpack(path.join(root, only), packed, MOST);
  return { root: unpacked, hidden: packed.hidden };
}

/** Nobody looks into an archive inside of what was sent: a lot in it would be left out without a word. */
export const archivesIn = (unused: readonly string[]): Problem[] =>
  unused
    .filter((file) => ARCHIVE.test(file))
    .map((file) => ({
      code: 'archive-inside',
      file,
      found: 'an archive that no document names',
      expected: 'files and folders, or one ZIP and nothing beside it',
      remedy: 'unpack it into the folder, or leave it out',
    }));

const cutOff = () =>
  new BadInputError([
    {
      code: 'cut-off',
      found: 'a connection that ended early',
      expected: 'a sender who waits for the answer',
      remedy: 'send it again',
    },
  ]);
