import { createHash, type Hash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import type { FileFault } from '../ledger/stored-fault.js';
import type { DataFolder } from './data-folder.js';
import { FolderSecret } from './folder-secret.js';

/** What somebody looked at: the data of a lot, a file of evidence, what is signed, what a search found, or another page. */
const NotedRead = z.strictObject({
  /** Time of the machine, ISO in UTC. */
  at: z.string(),
  person: z.string(),
  kind: z.enum(['lot', 'evidence', 'search', 'signing', 'page']),
  /** Of a page that is about no one thing, what was asked of it. */
  key: z.string(),
  page: z.string(),
  /** Lots and cases that the answer named beside its key. */
  shown: z.array(z.string()).optional(),
  /** How many of them the line leaves out. */
  more: z.int().positive().optional(),
});
export type NotedRead = z.infer<typeof NotedRead>;

/** How far the file of a day was when the audit trail was told of it. */
export interface ReadsHead {
  /** `2031-03-05.jsonl`. */
  readonly file: string;
  readonly lines: number;
  readonly bytes: number;
  /** SHA-256 over these first bytes. */
  readonly sha256: string;
  /** Lines since the head before that could not be written, or that the next start did not find or could not read. */
  readonly lost: number;
  /** Lines since the head before that the next start found without the code of the service; absent for none. */
  readonly altered?: number | undefined;
}

/** What a check knows of a head. */
export type KnownHead = Pick<ReadsHead, 'bytes' | 'sha256' | 'altered'>;

interface Day {
  readonly file: string;
  readonly hash: Hash;
  lines: number;
  bytes: number;
  altered: number;
  /** Whether it holds more than the audit trail was told of. */
  hasGrown: boolean;
}

const PIECE_BYTES = 65_536;
const NAME = /^\d{4}-\d{2}-\d{2}\.jsonl$/;
/** A line ends with the code over what stands before it. */
const CODED = /^(\{.*),"code":"([\w-]+)"\}$/;
/** How far the service was: file, lines, bytes. */
const END = /^(\S+) (\d+) (\d+) *\n$/;
const END_BYTES = 64;

/**
 * Who read what: a file for each day (UTC), a line of JSON for each reading, appended and never changed. The audit trail is
 * told now and then how long the file is and what its bytes hash to (`ReadHeads`): so a reading costs two short writes, and
 * whatever is changed before such a head shows. What is younger is bound outside of the folder: each line carries a code
 * under the secret of the data folder over itself and its place, and a file beside that secret says how far the lines go.
 */
export class ReadLog {
  private readonly days = new Map<string, Day>();
  /** Bytes by file that the audit trail knows. */
  private told: ReadonlyMap<string, number> = new Map();
  private lost = 0;

  /**
   * @param folder made with the first line.
   * @param end the file that says how far the lines go.
   */
  constructor(
    private readonly folder: string,
    private readonly secret: FolderSecret,
    private readonly end: string,
  ) {}

  static of({ path: data, reads }: DataFolder, secret = new FolderSecret(data)): ReadLog {
    return new ReadLog(reads, secret, path.join(data, 'keys', 'reads-end.txt'));
  }

  /** A disk that is full stops nobody from reading: how many lines are missing stands in the next head. */
  note(read: NotedRead): void {
    const file = `${read.at.slice(0, 10)}.jsonl`;
    try {
      const day = this.day(file);
      const line = Buffer.from(`${this.coded(JSON.stringify(read), day)}\n`, 'utf8');
      fs.appendFileSync(path.join(this.folder, file), line, { mode: 0o600 });
      day.hash.update(line);
      day.lines += 1;
      day.bytes += line.length;
      day.hasGrown = true;
      this.markEnd(day);
    } catch {
      this.lost += 1;
      // Half a line may be there now: the next one reads the file again.
      this.days.delete(file);
    }
  }

  private coded(text: string, { file, bytes }: Day): string {
    return `${text.slice(0, -1)},"code":"${this.secret.code('reading', file, String(bytes), text)}"}`;
  }

  private markEnd({ file, lines, bytes }: Day): void {
    const handle = fs.openSync(this.end, fs.constants.O_WRONLY | fs.constants.O_CREAT, 0o600);
    try {
      fs.writeSync(handle, `${`${file} ${lines} ${bytes}`.padEnd(END_BYTES)}\n`, 0);
    } finally {
      fs.closeSync(handle);
    }
  }

  private day(file: string): Day {
    let day = this.days.get(file);
    if (day) return day;
    fs.mkdirSync(this.folder, { recursive: true, mode: 0o700 });
    day = { file, hash: createHash('sha256'), lines: 0, bytes: 0, altered: 0, hasGrown: false };
    const where = path.join(this.folder, file);
    if (fs.existsSync(where)) {
      const { altered, unreadable } = this.untold(file, this.told.get(file) ?? 0);
      day.altered = altered;
      this.lost += unreadable;
      // Whatever was ended within a line goes on in a line of its own.
      if (!endsWithLine(where)) fs.appendFileSync(where, '\n');
      for (const piece of piecesOf(where)) {
        day.hash.update(piece);
        day.bytes += piece.length;
        for (const byte of piece) if (byte === 0x0a) day.lines += 1;
      }
    }
    this.days.set(file, day);
    return day;
  }

  /** Of the lines behind a place: how many another wrote, and how many are none. @param from bytes. */
  private untold(file: string, from: number): { altered: number; unreadable: number } {
    let [altered, unreadable, place] = [0, 0, from];
    for (const text of fs.readFileSync(path.join(this.folder, file)).subarray(from).toString('latin1').split('\n')) {
      const line = Buffer.from(text, 'latin1').toString('utf8');
      if (line !== '' && readOf(line) === undefined) unreadable += 1;
      else if (line !== '' && !this.isOurs(line, file, place)) altered += 1;
      place += text.length + 1;
    }
    return { altered, unreadable };
  }

  private isOurs(line: string, file: string, place: number): boolean {
    const [, text, code] = CODED.exec(line) ?? [];
    return code !== undefined && this.secret.holds(code, 'reading', file, String(place), `${text}}`);
  }

  /**
   * Finds what a program that ended suddenly did not tell the audit trail of, and what was done to it since.
   * @param told bytes by file.
   */
  takeUp(told: ReadonlyMap<string, number>): void {
    this.told = told;
    const [, file, lines, bytes] = END.exec(textOf(this.end)) ?? [];
    for (const name of this.files()) {
      if (this.sizeOf(name) > (told.get(name) ?? 0)) this.day(name).hasGrown = true;
    }
    if (file === undefined || !NAME.test(file) || this.sizeOf(file) >= Number(bytes)) return;
    // A file that is gone is begun anew, so that a head can say of it what is missing.
    const day = this.day(file);
    fs.appendFileSync(path.join(this.folder, file), '', { mode: 0o600 });
    this.lost += Math.max(1, Number(lines) - day.lines);
    day.hasGrown = true;
  }

  private sizeOf(file: string): number {
    return fs.statSync(path.join(this.folder, file), { throwIfNoEntry: false })?.size ?? 0;
  }

  /** What the audit trail is to be told now: nothing where nothing was read. They count as told. */
  takeHeads(): ReadsHead[] {
    const grown = [...this.days.values()].filter((day) => day.hasGrown);
    const { lost } = this;
    this.told = new Map([...this.told, ...grown.map(({ file, bytes }) => [file, bytes] as const)]);
    return grown.map((day, index) => {
      const { file, lines, bytes, hash, altered } = day;
      day.hasGrown = false;
      day.altered = 0;
      if (index === 0) this.lost = 0;
      const head = { file, lines, bytes, sha256: hash.copy().digest('hex'), lost: index === 0 ? lost : 0 };
      return altered === 0 ? head : { ...head, altered };
    });
  }

  /** The names of the files, oldest first. */
  files(): string[] {
    if (!fs.existsSync(this.folder)) return [];
    return fs
      .readdirSync(this.folder)
      .filter((name) => NAME.test(name))
      .sort();
  }

  /** Readings, newest first, until whoever asks has enough. A line that is none is passed over: checks name it. */
  *newest(): Generator<NotedRead> {
    for (const file of this.files().reverse()) {
      const lines = fs.readFileSync(path.join(this.folder, file), 'utf8').split('\n').reverse();
      for (const line of lines) {
        const read = readOf(line);
        if (read) yield read;
      }
    }
  }

  /**
   * What is wrong with the file of a day, or undefined. What no head covers yet is held against the codes of its lines.
   * @param heads that the audit trail was told of this file.
   */
  faultOf(file: string, heads: readonly KnownHead[]): FileFault | undefined {
    const where = path.join(this.folder, file);
    if (!NAME.test(file) || !fs.existsSync(where)) return { code: 'is missing' };
    if (heads.some(({ altered = 0 }) => altered > 0)) return { code: 'was altered' };
    const open = [...heads].sort((a, b) => a.bytes - b.bytes);
    const hash = createHash('sha256');
    let place = 0;
    try {
      for (const piece of piecesOf(where)) {
        let from = 0;
        while (open.length > 0 && open[0]!.bytes <= place + piece.length) {
          const { bytes, sha256 } = open.shift()!;
          hash.update(piece.subarray(from, bytes - place));
          from = bytes - place;
          if (hash.copy().digest('hex') !== sha256) return { code: 'was altered' };
        }
        hash.update(piece.subarray(from));
        place += piece.length;
      }
      if (open.length > 0) return { code: 'was altered' };
      const told = Math.max(0, ...heads.map(({ bytes }) => bytes));
      return this.untold(file, told).altered > 0 ? { code: 'was altered' } : undefined;
    } catch (error) {
      return { code: 'cannot be read', facts: { error: (error as Error).message } };
    }
  }
}

function readOf(line: string): NotedRead | undefined {
  try {
    const { code: _code, ...read } = JSON.parse(line);
    return NotedRead.safeParse(read).data;
  } catch {
    return undefined;
  }
}

const textOf = (file: string): string => (fs.existsSync(file) ? fs.readFileSync(file, 'utf8') : '');

function* piecesOf(file: string): Generator<Buffer> {
  const handle = fs.openSync(file, 'r');
  try {
    const buffer = Buffer.alloc(PIECE_BYTES);
    const next = () => fs.readSync(handle, buffer, 0, buffer.length, null);
    for (let read = next(); read > 0; read = next()) yield buffer.subarray(0, read);
  } finally {
    fs.closeSync(handle);
  }
}

function endsWithLine(file: string): boolean {
  const handle = fs.openSync(file, 'r');
  try {
    const { size } = fs.fstatSync(handle);
    const last = Buffer.alloc(1);
    return size === 0 || (fs.readSync(handle, last, 0, 1, size - 1) === 1 && last[0] === 0x0a);
  } finally {
    fs.closeSync(handle);
  }
}
