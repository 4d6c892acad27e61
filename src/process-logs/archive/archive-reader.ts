import { hash } from 'node:crypto';
import { type FileHandle, open, readFile } from 'node:fs/promises';
import { promisify } from 'node:util';
import { gunzip } from 'node:zlib';
import { AppError } from '../../base/errors.js';
import { LINE_FEED } from '../bytes.js';
import { readTimestampUs } from '../timestamp.js';
import { ArchiveIndex, type ArchiveMember, membersBetween, type RawForm } from './archive-index.js';
import { indexPath, packedPath } from './archive-writer.js';
import { observationsIn } from './raw-observations.js';

const unpack = promisify(gunzip);

/** A line of a log, or an observation of an MTConnect document, as received. */
export interface RawRow {
  /** Line in the file, from 1. */
  readonly line: number;
  readonly text: string;
}

export interface RawRows {
  readonly form: RawForm;
  /** The header line of a CSV log; empty for MTConnect. */
  readonly header: string;
  readonly rows: readonly RawRow[];
  /** There are more rows in that time than were asked for. */
  readonly isCut: boolean;
}

/** Where an archive lies, and the log as received, which is read itself where it is plain. */
export interface ArchivedLog {
  readonly archive: string;
  /** SHA-256 of its index as the audit trail names it; undefined when it names none. */
  readonly sha256: string | undefined;
  /** Undefined when its bytes are gone. */
  readonly log: string | undefined;
}

/**
 * Raw rows of an archived log from one time on and before another, without reading the rest of it.
 * @param fromUs and toUs microseconds since 1970 on the clock of the recorder.
 * @param most rows wanted at most.
 * @returns undefined when there is no whole archive: it can be made again from the log.
 * @throws AppError ALTERED when index or member are not those that were recorded.
 */
export function rowsBetween(
  archived: ArchivedLog,
  fromUs: number,
  toUs: number,
  most = Number.POSITIVE_INFINITY,
): Promise<RawRows | undefined> {
  return withArchive(archived, async (textOf, { form, members }) => {
    const header = form === 'csv' && members[0] ? headerOf((await textOf(members[0])).toString('utf8')) : '';
    const wanted = membersBetween(members, fromUs, toUs);
    const rows: RawRow[] = [];
    // Read side by side; a limit is soon reached, so not all of them at once.
    for (let at = 0; at < wanted.length && rows.length <= most; at += SIDE_BY_SIDE) {
      const next = wanted.slice(at, at + SIDE_BY_SIDE);
      const texts = await Promise.all(next.map(textOf));
      texts.forEach((bytes, place) => {
        for (const row of rowsOf(form, bytes, next[place]!, fromUs, toUs)) rows.push(row);
      });
    }
    return { form, header, rows: rows.slice(0, most), isCut: rows.length > most };
  });
}

/**
 * The same rows as the bytes that were received, one behind the other, for whoever wants all of them.
 * @returns undefined and throws as `rowsBetween`.
 */
export function excerptBetween(archived: ArchivedLog, fromUs: number, toUs: number): Promise<Buffer | undefined> {
  return withArchive(archived, async (textOf, { form, members }) => {
    const wanted = membersBetween(members, fromUs, toUs);
    const texts = await Promise.all(wanted.map(textOf));
    const cut = texts.map((bytes, place) => {
      const member = wanted[place]!;
      if (form === 'lines') return bytes;
      if (form === 'csv') return isWithin(member, fromUs, toUs) ? bytes : linesWithin(bytes, fromUs, toUs);
      const rows = rowsOf(form, bytes, member, fromUs, toUs);
      return Buffer.from(rows.map(({ text }) => `${text}\n`).join(''));
    });
    return Buffer.concat(cut);
  });
}

type TextOf = (member: ArchiveMember) => Promise<Buffer>;

async function withArchive<T>(
  { archive, log, sha256 }: ArchivedLog,
  work: (textOf: TextOf, index: ArchiveIndex) => Promise<T>,
): Promise<T | undefined> {
  const found = sha256 === undefined ? undefined : await readIndex(archive);
  if (found !== undefined && found.sha256 !== sha256) throw altered(true);
  const index = found?.index;
  const path = index?.isPacked ? packedPath(archive) : log;
  if (index === undefined || path === undefined) return undefined;
  const file = await open(path).catch(() => undefined);
  if (file === undefined) return undefined;
  try {
    if ((await file.stat()).size !== index.bytes) return undefined;
    return await work((member) => readMember(file, index, member), index);
  } finally {
    await file.close();
  }
}

const SIDE_BY_SIDE = 8;
/** Room for the text of a usual member at once. */
const UNPACKED_SIZE = 300 << 10;

/** @returns undefined when there is none, or one of an earlier form. */
async function readIndex(archive: string): Promise<{ index: ArchiveIndex; sha256: string } | undefined> {
  const text = await readFile(indexPath(archive)).catch(() => undefined);
  if (text === undefined) return undefined;
  try {
    return { index: ArchiveIndex.parse(JSON.parse(text.toString('utf8'))), sha256: hash('sha256', text, 'hex') };
  } catch {
    throw altered(true);
  }
}

async function readMember(file: FileHandle, { isPacked }: ArchiveIndex, member: ArchiveMember): Promise<Buffer> {
  const read = await bytesOf(file, member);
  if (read === undefined) throw altered(isPacked);
  return isPacked ? unpack(read, { chunkSize: UNPACKED_SIZE }) : read;
}

/** The bytes of a member as they lie, or undefined when they are not those that were written. */
async function bytesOf(file: FileHandle, { offset, bytes, sha256 }: ArchiveMember): Promise<Buffer | undefined> {
  const read = Buffer.allocUnsafe(bytes);
  const { bytesRead } = await file.read(read, 0, bytes, offset);
  return bytesRead === bytes && hash('sha256', read, 'hex') === sha256 ? read : undefined;
}

const altered = (isArchive: boolean): AppError =>
  new AppError(
    'ALTERED',
    isArchive
      ? 'the archive of raw rows is damaged or was altered; scan the log again to make it anew'
      : 'the log was altered or damaged since it was scanned; run check, and restore it from a backup',
  );

/**
 * Whether an archive that is there is the one that was recorded, whole. A plain log itself is evidence, and not read here.
 * @throws AppError ALTERED when it is not.
 */
export async function checkArchive(archived: ArchivedLog): Promise<void> {
  await withArchive(archived, async (textOf, { isPacked, members }) => {
    for (const member of isPacked ? members : []) await textOf(member);
  });
}

function headerOf(text: string): string {
  const end = text.indexOf('\n');
  return (end < 0 ? text : text.slice(0, end)).replace(/\r$/, '');
}

/** Every row of the member lies within. */
const isWithin = (member: ArchiveMember, fromUs: number, toUs: number): boolean =>
  member.fromUs !== null && member.fromUs >= fromUs && member.toUs! < toUs;

function rowsOf(form: RawForm, bytes: Buffer, member: ArchiveMember, fromUs: number, toUs: number): RawRow[] {
  const text = bytes.toString('utf8');
  if (form === 'mtconnect') return observationsIn(text, member.line, fromUs, toUs);
  const lines = text.split('\n');
  const end = text.endsWith('\n') ? lines.length - 1 : lines.length;
  // Only the channel map tells the times of a logger, so the lines of a member stand and fall together.
  const isWhole = form === 'lines' || isWithin(member, fromUs, toUs);
  const clock = isWhole ? undefined : new Within(fromUs, toUs);
  const rows: RawRow[] = [];
  for (let at = 0; at < end; at += 1) {
    const line = lines[at]!;
    if (clock !== undefined && !clock.has(line)) continue;
    rows.push({ line: member.line + at, text: line.endsWith('\r') ? line.slice(0, -1) : line });
  }
  return rows;
}

/** Longer than any time with its comma. */
const TIME_BYTES = 40;

function linesWithin(bytes: Buffer, fromUs: number, toUs: number): Buffer {
  const clock = new Within(fromUs, toUs);
  const parts: Buffer[] = [];
  let start = -1;
  for (let at = 0; at < bytes.length; ) {
    const lineFeed = bytes.indexOf(LINE_FEED, at);
    const end = lineFeed < 0 ? bytes.length : lineFeed + 1;
    const isIn = clock.has(bytes.toString('latin1', at, Math.min(end, at + TIME_BYTES)));
    if (isIn && start < 0) start = at;
    if (!isIn && start >= 0) {
      parts.push(bytes.subarray(start, at));
      start = -1;
    }
    at = end;
  }
  if (start >= 0) parts.push(bytes.subarray(start));
  return Buffer.concat(parts);
}

/** Tells of successive lines whether their time lies within; a line without a readable time goes with the one before. */
class Within {
  private readonly clock = new LineClock();
  private isIn = false;

  constructor(
    private readonly fromUs: number,
    private readonly toUs: number,
  ) {}

  has(line: string): boolean {
    const timeUs = this.clock.read(line);
    if (timeUs !== undefined) this.isIn = timeUs >= this.fromUs && timeUs < this.toUs;
    return this.isIn;
  }
}

/** `YYYY-MM-DDTHH:MM:` */
const MINUTE_LENGTH = 17;
const SECONDS = /^[0-5]\d(?:\.\d{1,6})?$/;

/** Reads the times of successive lines, which mostly are of one minute and have one offset. */
class LineClock {
  private minute = '';
  private offset = '';
  private minuteUs = 0;

  read(line: string): number | undefined {
    const comma = line.indexOf(',');
    const time = comma < 0 ? line : line.slice(0, comma);
    if (this.minute !== '' && time.startsWith(this.minute) && time.endsWith(this.offset)) {
      const seconds = time.slice(MINUTE_LENGTH, time.length - this.offset.length);
      if (SECONDS.test(seconds)) return this.minuteUs + Math.round(Number(seconds) * 1_000_000);
    }
    const timeUs = readTimestampUs(time);
    if (timeUs === undefined) return undefined;
    this.minute = time.slice(0, MINUTE_LENGTH);
    this.offset = time.endsWith('Z') ? 'Z' : time.slice(-'+00:00'.length);
    this.minuteUs = readTimestampUs(`${this.minute}00${this.offset}`)!;
    return timeUs;
  }
}

const STAMPED = /timestamp\s*=\s*["']([^"']*)["']/;

/** Time of the last row that has one, microseconds since 1970 on the clock of the recorder. */
export function lastTimeUs({ form, rows }: RawRows): number | undefined {
  for (const { text } of [...rows].reverse()) {
    const time = form === 'csv' ? text.split(',')[0] : STAMPED.exec(text)?.[1];
    const timeUs = readTimestampUs(time ?? '');
    if (timeUs !== undefined) return timeUs;
  }
  return undefined;
}
