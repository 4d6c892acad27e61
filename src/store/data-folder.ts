import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import { type Clock, DemoClock, systemClock } from '../base/clock.js';
import { AppError } from '../base/errors.js';

/** `folder.json`: what makes a folder a data folder. */
export const FolderFile = z.strictObject({
  format: z.literal(1),
  demo: z
    .strictObject({
      now: z.iso.datetime(),
      playedBy: z.int().optional().describe('process that plays it; absent once it is played to the end'),
    })
    .optional(),
  anchor: z.string().optional().describe('file or URL in a second place, to which heads are appended'),
  drops: z.array(z.string()).optional().describe('folders of witnesses, in which heads were left'),
  store: z
    .string()
    .optional()
    .describe('address of the database on a server, without a password; absent for a file in the folder'),
  evidence: z
    .string()
    .optional()
    .describe('address of the object store with the evidence; absent for files in the folder'),
  timeStamps: z.string().optional().describe('address of an authority for time stamps (RFC 3161)'),
});
type FolderFile = z.infer<typeof FolderFile>;

/** A data folder: `folder.json`, the database, and the evidence. Only a demo folder has a clock of its own. */
export class DataFolder {
  private constructor(
    readonly path: string,
    private readonly file: FolderFile,
    readonly clock: Clock,
    /** Whether what is stored has to be on the disk before anybody is told so: an unfinished demo is played again instead. */
    readonly waitsForDisk = true,
  ) {}

  /** A second place for the anchor, where somebody named one. */
  get secondAnchor(): string | undefined {
    return this.file.anchor;
  }

  /** @param anchor undefined for none. */
  withSecondAnchor(anchor: string | undefined): DataFolder {
    return this.with({ anchor });
  }

  /** Folders of witnesses, in which heads were left. */
  get drops(): readonly string[] {
    return this.file.drops ?? [];
  }

  /** Address of the authority for time stamps; undefined where there is none. */
  get timeStamps(): string | undefined {
    return this.file.timeStamps;
  }

  /** Certificates to which that of the authority leads, in PEM. */
  get timeStampCertificates(): string {
    return path.join(this.path, 'keys', 'time-stamps.pem');
  }

  /** The same folder with other settings; undefined takes one away. */
  with(settings: Partial<Pick<FolderFile, 'anchor' | 'drops' | 'evidence' | 'store' | 'timeStamps'>>): DataFolder {
    const file = path.join(this.path, 'folder.json');
    const changed = Object.entries({ ...readFolderFile(file), ...settings }).filter(([, value]) => value !== undefined);
    writeFolderFile(file, Object.fromEntries(changed) as FolderFile);
    return DataFolder.open(this.path);
  }

  get demo(): boolean {
    return this.clock instanceof DemoClock;
  }

  get database(): string {
    return path.join(this.path, 'lotwright.sqlite');
  }

  /** The database on a server, where it is not the file above. */
  get store(): string | undefined {
    return this.file.store;
  }

  get hasDatabase(): boolean {
    return fs.existsSync(this.database);
  }

  get evidence(): string {
    return path.join(this.path, 'evidence');
  }

  /** The object store with the evidence, where it is not the folder above. */
  get evidenceStore(): string | undefined {
    return this.file.evidence;
  }

  get archives(): string {
    return path.join(this.path, 'archives');
  }

  /** Who read what, a file for each day. */
  get reads(): string {
    return path.join(this.path, 'reads');
  }

  /** For what came in and is not checked yet. */
  get spools(): string {
    return path.join(this.path, 'spools');
  }

  /** For what people sent and did not store yet. */
  get staged(): string {
    return path.join(this.path, 'staged');
  }

  get records(): string {
    return path.join(this.path, 'records');
  }

  /** Where an issued record lies. */
  recordFile(number: string, revision: number): string {
    return path.join(this.records, `${number}-r${revision}.pdf`);
  }

  /**
   * Opens a data folder; an absent or empty one is made, since there is nothing that could be lost.
   * @throws AppError CONFLICT for a folder with something else in it, and for a demo that was not played to its end.
   */
  static open(folder: string): DataFolder {
    const file = path.join(folder, 'folder.json');
    if (!fs.existsSync(file)) {
      if (fs.existsSync(folder) && fs.readdirSync(folder).some((name) => !name.startsWith('folder.json'))) {
        throw new AppError('CONFLICT', `${folder} is not empty and is no data folder of this program`);
      }
      fs.mkdirSync(folder, { recursive: true, mode: 0o700 });
      writeFolderFile(file, { format: 1 });
    }
    const read = readFolderFile(file);
    const { demo } = read;
    if (demo?.playedBy !== undefined && demo.playedBy !== process.pid) {
      throw new AppError(
        'CONFLICT',
        `the demo in ${folder} was not played to its end, so half of it is missing: play it again with \`lotwright demo --data ${folder}\``,
      );
    }
    return new DataFolder(folder, read, demo ? new DemoClock(new Date(demo.now)) : systemClock);
  }

  /** For checks, which make nothing. @throws AppError NOT_FOUND when there is no folder, or an empty one. */
  static existing(folder: string): DataFolder {
    if (!fs.existsSync(folder) || fs.readdirSync(folder).length === 0) {
      throw new AppError('NOT_FOUND', `there is no data folder at ${folder}`);
    }
    return DataFolder.open(folder);
  }

  /** Whether a demo lies there, one that was cut off too. @throws AppError CONFLICT when its `folder.json` cannot be read. */
  static holdsDemo(folder: string): boolean {
    const file = path.join(folder, 'folder.json');
    return fs.existsSync(file) && readFolderFile(file).demo !== undefined;
  }

  /**
   * Makes a demo folder whose clock starts at `now`, for whoever plays into it. The folder must not exist.
   * @param toTheEnd whether no other process may open it before `endsPlay`.
   */
  static createDemo(folder: string, now: string, { toTheEnd = false } = {}): DataFolder {
    fs.mkdirSync(path.dirname(folder), { recursive: true });
    fs.mkdirSync(folder, { mode: 0o700 });
    const file: FolderFile = { format: 1, demo: { now, ...(toTheEnd ? { playedBy: process.pid } : {}) } };
    writeFolderFile(path.join(folder, 'folder.json'), file);
    return new DataFolder(folder, file, new DemoClock(new Date(now)), false);
  }

  /** Moves the demo clock forward, for this process and for later ones. */
  advanceTo(moment: string): void {
    const clock = this.demoClock();
    clock.advanceTo(moment);
    this.writeDemo((demo) => ({ ...demo, now: clock.now().toISOString() }));
  }

  /** It was played to its end: from now on everybody may open it. */
  endsPlay(): void {
    this.writeDemo(() => ({ now: this.demoClock().now().toISOString() }));
  }

  private demoClock(): DemoClock {
    if (!(this.clock instanceof DemoClock)) throw new AppError('REFUSED', 'only a demo folder has a clock of its own');
    return this.clock;
  }

  private writeDemo(changed: (demo: FolderFile['demo']) => FolderFile['demo']): void {
    const file = path.join(this.path, 'folder.json');
    // As it stands by now: others write settings beside the time.
    const read = readFolderFile(file);
    writeFolderFile(file, { ...read, demo: changed(read.demo) });
  }
}

function readFolderFile(file: string): FolderFile {
  try {
    return FolderFile.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
  } catch {
    throw new AppError('CONFLICT', `${file} was not written by this version of the program`);
  }
}

/** Another process may do the same at the same time, so each writes a file of its own and renames it. */
function writeFolderFile(file: string, content: FolderFile): void {
  const temporary = `${file}.${process.pid}.new`;
  fs.writeFileSync(temporary, `${JSON.stringify(content, null, 2)}\n`);
  fs.renameSync(temporary, file);
}
