import { createHash, type Hash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import type { FileFault } from '../ledger/stored-fault.js';

/** What somebody looked at: the data of a lot, a file of evidence, what is signed, or what a search found. */
const NotedRead = z.strictObject({
  /** Time of the machine, ISO in UTC. */
  at: z.string(),
  person: z.string(),
  kind: z.enum(['lot', 'evidence', 'search', 'signing']),
  key: z.string(),
  page: z.string(),
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
  /** Lines that could not be written since the head before. */
  readonly lost: number;
}

interface Day {
  readonly file: string;
  readonly hash: Hash;
  lines: number;
  bytes: number;
  /** Whether it holds more than the audit trail was told of. */
  hasGrown: boolean;
}

const PIECE_BYTES = 65_536;
const NAME = /^\d{4}-\d{2}-\d{2}\.jsonl$/;

/**
 * Who read what: a file for each day (UTC), a line of JSON for each reading, appended and never changed. The audit trail is
 * told now and then how long the file is and what its bytes hash to (`ReadHeads`): so a reading costs one short write, and
 * whatever is changed before such a head shows.
 */
export class ReadLog {
  private readonly days = new Map<string, Day>();
  private lost = 0;

  /** @param folder made with the first line. */
  constructor(private readonly folder: string) {}

  /** A disk that is full stops nobody from reading: how many lines are missing stands in the next head. */
  note(read: NotedRead): void {
    const line = Buffer.from(`${JSON.stringify(read)}\n`, 'utf8');
    try {
      const day = this.day(`${read.at.slice(0, 10)}.jsonl`);
      fs.appendFileSync(path.join(this.folder, day.file), line, { mode: 0o600 });
      day.hash.update(line);
      day.lines += 1;
      day.bytes += line.length;
      day.hasGrown = true;
    } catch {
      this.lost += 1;
    }
  }

  private day(file: string): Day {
    let day = this.days.get(file);
    if (day) return day;
    fs.mkdirSync(this.folder, { recursive: true, mode: 0o700 });
    day = { file, hash: createHash('sha256'), lines: 0, bytes: 0, hasGrown: false };
    const where = path.join(this.folder, file);
    if (fs.existsSync(where)) {
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

  /** Finds what a program that ended suddenly did not tell the audit trail of. @param told bytes by file. */
  takeUp(told: ReadonlyMap<string, number>): void {
    for (const file of this.files()) {
      if (fs.statSync(path.join(this.folder, file)).size > (told.get(file) ?? 0)) this.day(file).hasGrown = true;
    }
  }

  /** What the audit trail is to be told now: nothing where nothing was read. They count as told. */
  takeHeads(): ReadsHead[] {
    const grown = [...this.days.values()].filter((day) => day.hasGrown);
    const { lost } = this;
    return grown.map(({ file, lines, bytes, hash }, index) => {
      this.days.get(file)!.hasGrown = false;
      if (index === 0) this.lost = 0;
      return { file, lines, bytes, sha256: hash.copy().digest('hex'), lost: index === 0 ? lost : 0 };
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
   * What is wrong with the file of a day, or undefined.
   * @param heads that the audit trail was told of this file.
   */
  faultOf(file: string, heads: readonly Pick<ReadsHead, 'bytes' | 'sha256'>[]): FileFault | undefined {
    const where = path.join(this.folder, file);
    if (!NAME.test(file) || !fs.existsSync(where)) return { code: 'is missing' };
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
    } catch (error) {
      return { code: 'cannot be read', facts: { error: (error as Error).message } };
    }
    return open.length > 0 ? { code: 'was altered' } : undefined;
  }
}

function readOf(line: string): NotedRead | undefined {
  try {
    return NotedRead.safeParse(JSON.parse(line)).data;
  } catch {
    return undefined;
  }
}

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
