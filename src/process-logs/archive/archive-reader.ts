import { type FileHandle, open, readFile } from 'node:fs/promises';
import { promisify } from 'node:util';
import { gunzip } from 'node:zlib';
import { AppError } from '../../errors.js';
import { readTimestampUs } from '../timestamp.js';
import { ArchiveIndex, type ArchiveMember, membersBetween, type RawForm } from './archive-index.js';
import { indexPath } from './archive-writer.js';
import { observationsIn } from './raw-observations.js';

const unpack = promisify(gunzip);

/** A line of a log, or an observation of an MTConnect document, as received. */
export interface RawRow {
  /** Line in the file, from 1. */
  readonly line: number;
  readonly text: string;
  /** Microseconds since 1970 on the clock of the recorder; null when the line has no readable time. */
  readonly timeUs: number | null;
}

export interface RawRows {
  readonly form: RawForm;
  /** The header line of a CSV log; empty for MTConnect. */
  readonly header: string;
  readonly rows: readonly RawRow[];
  /** There are more rows in that time than were asked for. */
  readonly isCut: boolean;
}

/**
 * Raw rows of an archived log from one time on and before another, without reading the rest of it.
 * @param path of the archive, with its index beside.
 * @param fromUs and toUs microseconds since 1970 on the clock of the recorder.
 * @param most rows wanted at most.
 * @returns undefined when there is no whole archive: it can be made again from the log.
 * @throws AppError ALTERED when a member is damaged.
 */
export async function rowsBetween(
  path: string,
  fromUs: number,
  toUs: number,
  most = Number.POSITIVE_INFINITY,
): Promise<RawRows | undefined> {
  const index = await readIndex(path);
  if (index === undefined) return undefined;
  const file = await open(path);
  try {
    if ((await file.stat()).size !== index.bytes) return undefined;
    const header = index.form === 'csv' ? await headerLine(file, index.members[0]) : '';
    const wanted = membersBetween(index, fromUs, toUs);
    const rows: RawRow[] = [];
    // Unpacked side by side; a limit is soon reached, so not all of them at once.
    for (let at = 0; at < wanted.length && rows.length <= most; at += SIDE_BY_SIDE) {
      const members = wanted.slice(at, at + SIDE_BY_SIDE);
      const texts = await Promise.all(members.map((member) => textOf(file, member)));
      texts.forEach((text, place) => {
        const { line } = members[place]!;
        const found =
          index.form === 'csv' ? linesIn(text, line, fromUs, toUs) : observationsIn(text, line, fromUs, toUs);
        for (const row of found) rows.push(row);
      });
    }
    return { form: index.form, header, rows: rows.slice(0, most), isCut: rows.length > most };
  } finally {
    await file.close();
  }
}

const SIDE_BY_SIDE = 4;

async function readIndex(path: string): Promise<ArchiveIndex | undefined> {
  try {
    return ArchiveIndex.parse(JSON.parse(await readFile(indexPath(path), 'utf8')));
  } catch {
    return undefined;
  }
}

async function textOf(file: FileHandle, { offset, bytes }: ArchiveMember): Promise<string> {
  const packed = Buffer.allocUnsafe(bytes);
  await file.read(packed, 0, bytes, offset);
  try {
    return (await unpack(packed)).toString('utf8');
  } catch {
    throw new AppError('ALTERED', 'the archive of raw rows is damaged; scan the log again to make it anew');
  }
}

async function headerLine(file: FileHandle, first: ArchiveMember | undefined): Promise<string> {
  if (first === undefined) return '';
  const text = await textOf(file, first);
  const end = text.indexOf('\n');
  return (end < 0 ? text : text.slice(0, end)).replace(/\r$/, '');
}

/** Lines whose time lies within, and unreadable lines behind such a line. */
function linesIn(text: string, firstLine: number, fromUs: number, toUs: number): RawRow[] {
  const rows: RawRow[] = [];
  let isWithin = false;
  const lines = text.split('\n');
  const end = text.endsWith('\n') ? lines.length - 1 : lines.length;
  for (let at = 0; at < end; at += 1) {
    const line = lines[at]!;
    const comma = line.indexOf(',');
    const timeUs = readTimestampUs(comma < 0 ? line : line.slice(0, comma));
    if (timeUs !== undefined) isWithin = timeUs >= fromUs && timeUs < toUs;
    if (isWithin) rows.push({ line: firstLine + at, text: line.replace(/\r$/, ''), timeUs: timeUs ?? null });
  }
  return rows;
}
