import { createHash, randomBytes, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { isDayOld } from '../base/day-old.js';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { Sent } from '../web/upload.js';
import { listFolder } from './folder.js';
import { IncomingFolder, nothingSent, tooLarge, tooMuch } from './incoming-folder.js';
import { IncomingNames } from './incoming-names.js';
import type { IntakeReport } from './intake-report.js';
import { hiddenPart, isHidden } from './odd-files.js';
import { unpack } from './unpack.js';

const ZIP = /\.zip$/i;

/** A file that comes in pieces. */
export interface PieceOf {
  /** Its path, as it was sent. */
  readonly file: string;
  /** Its bytes in all. */
  readonly of: number;
  /** Tells it apart from another one of its name and length: when it was last changed, say. */
  readonly stamp: string;
}

export interface Piece extends PieceOf {
  /** Where in the file it begins. */
  readonly from: number;
}

/** What a check of the files found. */
export interface Checked {
  /** Of which state of the files. */
  readonly version: number;
  readonly at: string;
  readonly problems: readonly Problem[];
  /** Absent where something is wrong. */
  readonly report?: IntakeReport;
  /** Others stored something between an earlier check and storing, so that this is another answer than was shown. */
  readonly hasMoved?: boolean;
}

/** What is remembered beside the files. */
interface Remembered {
  readonly person: string;
  readonly begunAt: string;
  changedAt: string;
  /** Grows with every file that comes. */
  version: number;
  hidden: string[];
  /** Files that came in pieces, whole or not, by the name of their pieces. */
  pieces: Record<string, PieceOf>;
  checked?: Checked | undefined;
}

/**
 * A folder that somebody sends, in as many requests as it takes, until it is stored or thrown away. It lies on the disk of
 * the data folder and outlives session, connection and service; each file of it is whole.
 */
export class StagedFolder {
  /** Bytes of its files, by their paths. */
  private readonly files = new Map<string, number>();
  private turn: Promise<unknown> = Promise.resolve();

  private constructor(
    private readonly folder: string,
    private readonly state: Remembered,
  ) {
    for (const name of ['files', 'pieces', 'incoming'])
      fs.mkdirSync(this.below(name), { recursive: true, mode: 0o700 });
    for (const { name, path: file } of listFolder(this.root).files) this.files.set(name, fs.statSync(file).size);
  }

  static begin(root: string, person: string, now: Date): StagedFolder {
    const at = now.toISOString();
    const folder = path.join(root, randomBytes(16).toString('base64url'));
    fs.mkdirSync(folder, { recursive: true, mode: 0o700 });
    const made = new StagedFolder(folder, { person, begunAt: at, changedAt: at, version: 0, hidden: [], pieces: {} });
    made.remember();
    return made;
  }

  /** @returns undefined for what holds none. */
  static open(folder: string): StagedFolder | undefined {
    try {
      const opened = new StagedFolder(folder, JSON.parse(fs.readFileSync(path.join(folder, 'state.json'), 'utf8')));
      opened.removeLeftBehind();
      return opened;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT' || error instanceof SyntaxError) return undefined;
      throw error;
    }
  }

  /** Where a service was killed while it received. What is of today may be coming in at another instance. */
  private removeLeftBehind(): void {
    for (const name of fs.readdirSync(this.below('incoming'))) {
      const place = path.join(this.below('incoming'), name);
      if (isDayOld(place)) fs.rmSync(place, { recursive: true, force: true });
    }
  }

  get name(): string {
    return path.basename(this.folder);
  }

  get person(): string {
    return this.state.person;
  }

  get begunAt(): string {
    return this.state.begunAt;
  }

  get changedAt(): string {
    return this.state.changedAt;
  }

  get version(): number {
    return this.state.version;
  }

  /** What the last check found; undefined where files came since. */
  get checked(): Checked | undefined {
    const { checked, version } = this.state;
    return checked?.version === version ? checked : undefined;
  }

  get hidden(): readonly string[] {
    return this.state.hidden;
  }

  get count(): number {
    return this.files.size;
  }

  /** With what came of files that are not whole. */
  get bytes(): number {
    return this.fileBytes + this.unfinished().reduce((sum, { received }) => sum + received, 0);
  }

  /** Where the files lie that are whole. */
  get root(): string {
    return this.below('files');
  }

  /** Files that came in pieces, whole or not. */
  get inPieces(): readonly (PieceOf & { readonly received: number })[] {
    return Object.entries(this.state.pieces).map(([key, piece]) => ({
      ...piece,
      received: this.receivedOf(key, piece),
    }));
  }

  /** Files of which not all has come. */
  unfinished(): readonly (PieceOf & { readonly received: number })[] {
    return this.inPieces.filter(({ of, received }) => received < of);
  }

  /**
   * Adds files, each whole. One that is there already is replaced; one that is sent without its folder, by a name that only
   * one file has, replaces that one.
   * @param room bytes that may come at most.
   * @throws BadInputError with every problem; then none of them is added.
   */
  async add(upload: Sent, room: number, now: Date): Promise<void> {
    await this.inTurn(async () => {
      const incoming = path.join(this.below('incoming'), randomUUID());
      const most = { ...MOST, uploadBytes: Math.min(MOST.uploadBytes, room) };
      const folder = new IncomingFolder(incoming, most);
      try {
        fs.mkdirSync(incoming);
        let count = 0;
        for await (const { name, bytes } of upload.files()) {
          count += 1;
          await folder.write(name, bytes);
        }
        if (count === 0) throw new BadInputError([nothingSent()]);
        folder.refuseProblems();
        const came = listFolder(incoming).files;
        const placed = came.map(({ name, path: from }) => ({ from, to: this.placeOf(name) }));
        this.refuseNames(placed.map(({ to }) => to));
        for (const { from, to } of placed) this.keep(from, to);
        this.changed(now, [...folder.hidden]);
      } finally {
        fs.rmSync(incoming, { recursive: true, force: true });
      }
    });
  }

  /**
   * Adds a piece of a file at the place where the last one ended; the last one makes the file whole.
   * @returns how many bytes of the file are here.
   * @throws AppError CONFLICT with `received` for a piece that begins elsewhere; BadInputError as `add`.
   */
  async addPiece({ from, ...piece }: Piece, bytes: AsyncIterable<Buffer>, room: number, now: Date): Promise<number> {
    return this.inTurn(async () => {
      const to = this.placeOf(piece.file);
      this.refuseNames([to]);
      if (isHidden(piece.file)) {
        this.changed(now, [hiddenPart(piece.file)]);
        return piece.of;
      }
      this.refuseSize(piece, from, room);
      const key = keyOf(piece);
      const received = this.receivedOf(key, piece);
      if (received !== from) throw elsewhere(piece.file, from, received);
      this.state.pieces[key] = piece;
      this.state.changedAt = now.toISOString();
      this.remember();
      const kept = await this.append(this.below('pieces', key), piece.of - from, bytes);
      if (from + kept < piece.of) return from + kept;
      this.keep(this.below('pieces', key), to);
      this.changed(now);
      return piece.of;
    });
  }

  /** What one ZIP holds takes its place. @throws BadInputError for what is wrong with it. */
  async unpackOnlyZip(): Promise<void> {
    await this.inTurn(async () => {
      const [only = ''] = this.files.keys();
      if (this.files.size !== 1 || !ZIP.test(only)) return;
      const unpacked = path.join(this.below('incoming'), randomUUID());
      fs.mkdirSync(unpacked);
      const folder = new IncomingFolder(unpacked);
      try {
        await unpack(path.join(this.root, only), folder, MOST);
        fs.rmSync(this.root, { recursive: true });
        fs.renameSync(unpacked, this.root);
      } finally {
        fs.rmSync(unpacked, { recursive: true, force: true });
      }
      this.files.clear();
      for (const { name, path: file } of listFolder(this.root).files) this.files.set(name, fs.statSync(file).size);
      // The ZIP itself is no more here, so nothing of it is left to come.
      this.state.pieces = {};
      this.state.hidden = [...new Set([...this.state.hidden, ...folder.hidden])];
      this.remember();
    });
  }

  /** Notes what a check found of the files as they are. */
  noteCheck(checked: Omit<Checked, 'version'>, version: number): void {
    this.state.checked = { ...checked, version };
    this.remember();
  }

  remove(): void {
    fs.rmSync(this.folder, { recursive: true, force: true });
  }

  private get fileBytes(): number {
    return [...this.files.values()].reduce((sum, bytes) => sum + bytes, 0);
  }

  private below(...names: string[]): string {
    return path.join(this.folder, ...names);
  }

  /** One request at a time: what two send at once would be taken for one file. */
  private async inTurn<T>(work: () => Promise<T>): Promise<T> {
    const mine = this.turn.then(work);
    this.turn = mine.catch(() => undefined);
    return mine;
  }

  private receivedOf(key: string, { file, of }: PieceOf): number {
    const begun = fs.statSync(this.below('pieces', key), { throwIfNoEntry: false });
    if (begun) return begun.size;
    return this.state.pieces[key] !== undefined && this.files.get(this.placeOf(file)) === of ? of : 0;
  }

  private placeOf(name: string): string {
    if (this.files.has(name) || name.includes('/')) return name;
    const alike = [...this.files.keys()].filter((file) => file.endsWith(`/${name}`));
    return alike.length === 1 ? alike[0]! : name;
  }

  /** @param added paths that come to those that are here, or take their place. */
  private refuseNames(added: readonly string[]): void {
    const names = new IncomingNames();
    const fresh = new Set(added);
    const problems = [...this.files.keys()].filter((name) => !fresh.has(name)).flatMap((name) => names.add(name));
    problems.push(...added.flatMap((name) => names.add(name)));
    if (problems.length > 0) throw new BadInputError(problems);
  }

  private refuseSize({ file, of }: PieceOf, from: number, room: number): void {
    if (of > MOST.uploadFileBytes) throw new BadInputError([tooLarge(file, MOST.uploadFileBytes)]);
    if (this.fileBytes + of > MOST.uploadBytes) throw new BadInputError([tooMuch(MOST.uploadBytes)]);
    if (of - from > room) throw new BadInputError([tooMuch(room)]);
  }

  private async append(file: string, most: number, bytes: AsyncIterable<Buffer>): Promise<number> {
    const handle = fs.openSync(file, 'a', 0o600);
    let kept = 0;
    try {
      for await (const block of bytes) {
        const wanted = block.subarray(0, most - kept);
        fs.writeSync(handle, wanted);
        kept += wanted.length;
      }
      return kept;
    } finally {
      fs.closeSync(handle);
    }
  }

  private keep(from: string, name: string): void {
    const to = path.join(this.root, name);
    const handle = fs.openSync(from, 'r');
    const { size } = fs.fstatSync(handle);
    // A name must not come to stand for bytes that a power failure took.
    fs.fsyncSync(handle);
    fs.closeSync(handle);
    fs.mkdirSync(path.dirname(to), { recursive: true, mode: 0o700 });
    fs.renameSync(from, to);
    this.files.set(name, size);
  }

  private changed(now: Date, hidden: readonly string[] = []): void {
    const { state } = this;
    state.version += 1;
    state.changedAt = now.toISOString();
    state.hidden = [...new Set([...state.hidden, ...hidden])];
    this.remember();
  }

  private remember(): void {
    const waiting = this.below('state.new');
    fs.writeFileSync(waiting, JSON.stringify(this.state), { mode: 0o600 });
    fs.renameSync(waiting, this.below('state.json'));
  }
}

const keyOf = ({ file, of, stamp }: PieceOf): string =>
  createHash('sha256')
    .update(JSON.stringify([file, of, stamp]))
    .digest('hex')
    .slice(0, 32);

const elsewhere = (file: string, from: number, received: number) =>
  new AppError(
    'CONFLICT',
    `of ${file} ${received} bytes are here, and this piece begins at ${from}: go on from there`,
    {
      received,
    },
  );
