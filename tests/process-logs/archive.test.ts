import { execFileSync } from 'node:child_process';
import { hash } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import {
  type ArchivedLog,
  checkArchive,
  excerptBetween,
  lastTimeUs,
  rowsBetween,
} from '../../src/process-logs/archive/archive-reader.js';
import { indexPath, packedPath } from '../../src/process-logs/archive/archive-writer.js';
import { behindLastLine, betweenElements, MemberCutter } from '../../src/process-logs/archive/member-cutter.js';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { LOG_START_MS, logText, planFor } from '../support/log-maker.js';

/** A packed archive is read back with the gunzip of the system: RFC 1952, section 2.2, members one behind the other. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-archive-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

/** What gunzip makes of the packed members of an archive. */
const gunzip = ({ archive }: ArchivedLog): Buffer =>
  execFileSync('gunzip', ['-c', packedPath(archive)], { maxBuffer: 1 << 28 });

const indexOf = ({ archive }: ArchivedLog) =>
  JSON.parse(fs.readFileSync(indexPath(archive), 'utf8')) as { members: { offset: number; bytes: number }[] };

const SHAPE = { seed: 5, rows: 40_000, gaps: 0, repeatedTimes: 0 };
const PERIOD_MS = 100;
const TEXT = logText(SHAPE);
let made = 0;

type Archived = ArchivedLog & { readonly log: string };

/** As the audit trail would name it. */
const named = (made: { archive: string; log: string }): Archived => ({
  ...made,
  sha256: hash('sha256', fs.readFileSync(indexPath(made.archive)), 'hex'),
});

async function archived(bytes: Uint8Array, clockOffsetMs = 0): Promise<Archived> {
  made += 1;
  const log = path.join(folder, `log-${made}`);
  const archive = path.join(folder, `archive-${made}`);
  fs.writeFileSync(log, bytes);
  await scanFile({ path: log, fileName: 'log.csv', plan: planFor(SHAPE, { clockOffsetMs }), archive });
  return named({ archive, log });
}

const timeUs = (row: number): number => (LOG_START_MS + row * PERIOD_MS) * 1000;

describe('an archive', () => {
  it('of a packed log is what gunzip turns into its text, byte for byte, in more than one member', async () => {
    const made = await archived(gzipSync(TEXT));
    expect(gunzip(made).equals(Buffer.from(TEXT))).toBe(true);
    expect(indexOf(made).members.length).toBeGreaterThan(8);
  });

  it('of a plain log packs nothing, and its members are the whole log, each ending with a line', async () => {
    const made = await archived(Buffer.from(TEXT));
    expect(fs.existsSync(packedPath(made.archive))).toBe(false);
    const { members } = indexOf(made);
    const log = fs.readFileSync(made.log);
    const pieces = members.map(({ offset, bytes }) => log.subarray(offset, offset + bytes));
    expect(pieces.length).toBeGreaterThan(8);
    expect(Buffer.concat(pieces).equals(log)).toBe(true);
    for (const piece of pieces) expect(piece.at(-1)).toBe(0x0a);
  });

  it('changes nothing of what the scan finds', async () => {
    const log = path.join(folder, 'plain');
    fs.writeFileSync(log, TEXT);
    const plan = planFor(SHAPE);
    const without = await scanFile({ path: log, fileName: 'log.csv', plan });
    const withIt = await scanFile({ path: log, fileName: 'log.csv', plan, archive: path.join(folder, 'other') });
    expect(withIt).toEqual(without);
  });

  it.each([
    ['no line feed at the end', TEXT.slice(0, -7)],
    ['carriage returns', TEXT.replaceAll('\n', '\r\n')],
    ['a line of six megabytes', `${TEXT.slice(0, 200_000)}${'x'.repeat(6_000_000)}\n${TEXT.slice(200_000)}`],
    ['bytes that are no text', `${TEXT.slice(0, 200_000)}\u0000\u0001\n${TEXT.slice(200_000)}`],
  ])('gives back a log with %s', async (_name, text) => {
    expect(gunzip(await archived(gzipSync(text))).equals(Buffer.from(text))).toBe(true);
    const { members } = indexOf(await archived(Buffer.from(text)));
    expect(members.reduce((end, { offset, bytes }) => (offset === end ? end + bytes : Number.NaN), 0)).toBe(
      text.length,
    );
  });
});

describe.each([
  ['plain', (text: string) => Buffer.from(text)],
  ['packed', (text: string) => gzipSync(text)],
])('rows of a %s log between two times', (what, asReceived) => {
  let archive: Archived;
  beforeAll(async () => {
    archive = await archived(asReceived(TEXT));
  });
  const lines = TEXT.split('\n');

  it.each([
    [0, 10],
    [1234, 1300],
    [9_990, 16_010],
    [39_990, 50_000],
    [0, 40_000],
  ])('are the lines of the log, from row %i to before row %i', async (from, to) => {
    const found = await rowsBetween(archive, timeUs(from), timeUs(to));
    expect(found!.header).toBe(lines[0]);
    expect(found!.rows.map(({ text }) => text)).toEqual(lines.slice(1, -1).slice(from, to));
    expect(found!.rows[0]).toMatchObject({ line: from + 2 });
    expect(found!.isCut).toBe(false);
    const excerpt = await excerptBetween(archive, timeUs(from), timeUs(to));
    expect(excerpt!.toString()).toBe(found!.rows.map(({ text }) => `${text}\n`).join(''));
    expect(lastTimeUs(found!)).toBe(timeUs(Math.min(to, 40_000) - 1));
  });

  it('are cut where only so many are wanted, and say so', async () => {
    const found = await rowsBetween(archive, timeUs(100), timeUs(20_000), 50);
    expect(found!.rows.map(({ line }) => line)).toEqual(Array.from({ length: 50 }, (_, index) => 102 + index));
    expect(found!.isCut).toBe(true);
  });

  it('are none before and after the log', async () => {
    expect((await rowsBetween(archive, 0, timeUs(0)))!.rows).toEqual([]);
    expect((await rowsBetween(archive, timeUs(40_000), timeUs(50_000)))!.rows).toEqual([]);
  });

  it('are found by the clock of the recorder, whatever was added to it', async () => {
    const shifted = await archived(asReceived(TEXT), 90_000);
    const found = await rowsBetween(shifted, timeUs(1234), timeUs(1300));
    expect(found!.rows.map(({ text }) => text)).toEqual(lines.slice(1).slice(1234, 1300));
  });

  it('show a line that could not be read where it stands', async () => {
    const spoilt = [...lines];
    spoilt[500] = 'what is this';
    const other = await archived(asReceived(spoilt.join('\n')));
    const found = await rowsBetween(other, timeUs(497), timeUs(502));
    expect(found!.rows.map(({ line, text }) => [line, text.slice(0, 12)])).toContainEqual([501, 'what is this']);
  });

  it('are not given from an archive that is not whole', async () => {
    const bytesOf = (of: Archived) => (what === 'packed' ? packedPath(of.archive) : of.log);
    const whole = fs.readFileSync(bytesOf(archive));
    const cut = { ...archive, archive: path.join(folder, `cut-${what}`), log: path.join(folder, `cut-${what}.csv`) };
    fs.writeFileSync(bytesOf(cut), whole.subarray(0, whole.length - 1));
    fs.copyFileSync(indexPath(archive.archive), indexPath(cut.archive));
    expect(await rowsBetween(cut, 0, timeUs(10))).toBeUndefined();
    expect(await rowsBetween({ ...archive, archive: path.join(folder, 'none') }, 0, timeUs(10))).toBeUndefined();
    fs.writeFileSync(bytesOf(cut), Buffer.concat([whole.subarray(0, 40), Buffer.from([1, 2, 3]), whole.subarray(43)]));
    await expect(rowsBetween(cut, 0, timeUs(10))).rejects.toThrow('damaged');
    await expect(excerptBetween(cut, 0, timeUs(10))).rejects.toMatchObject({ code: 'ALTERED' });
    // The plain log itself is evidence, and looked at as such.
    const checked = checkArchive(cut);
    if (what === 'packed') await expect(checked).rejects.toMatchObject({ code: 'ALTERED' });
    else await checked;
  });

  it('are not given by an index that nobody named, or another one than was named', async () => {
    expect(await rowsBetween({ ...archive, sha256: undefined }, timeUs(0), timeUs(10))).toBeUndefined();
    const other = { ...archive, sha256: '0'.repeat(64) };
    await expect(rowsBetween(other, timeUs(0), timeUs(10))).rejects.toMatchObject({ code: 'ALTERED' });
    await expect(checkArchive(other)).rejects.toMatchObject({ code: 'ALTERED' });
    await checkArchive(archive);
  });

  it('are not given of a log whose bytes are gone, unless its text was packed', async () => {
    const found = await rowsBetween({ ...archive, log: undefined }, timeUs(0), timeUs(10));
    expect(found?.rows.length).toBe(what === 'packed' ? 10 : undefined);
  });

  it('leave no index when the scan gives up', async () => {
    const log = path.join(folder, `bad-${what}`);
    fs.writeFileSync(log, asReceived('not a log\n'));
    const half = path.join(folder, `half-${what}`);
    await expect(scanFile({ path: log, fileName: 'bad', plan: planFor(SHAPE), archive: half })).rejects.toThrow();
    expect(fs.existsSync(indexPath(half))).toBe(false);
  });
});

describe('cutting into members', () => {
  const cutAll = (text: string, size: number, findCut: typeof behindLastLine): string[] => {
    const cutter = new MemberCutter(findCut);
    const pieces: Uint8Array[] = [];
    for (let at = 0; at < text.length; at += size) pieces.push(...cutter.push(Buffer.from(text.slice(at, at + size))));
    pieces.push(...cutter.end());
    return pieces.map((piece) => Buffer.from(piece).toString());
  };

  it.each([1, 2, 3, 7, 64])('ends each piece with a line, in chunks of %i', (size) => {
    const text = 'one\ntwo\n\nfour';
    const pieces = cutAll(text, size, behindLastLine);
    expect(pieces.join('')).toBe(text);
    for (const piece of pieces.slice(0, -1)) expect(piece.endsWith('\n')).toBe(true);
  });

  it('cuts XML between elements where there are no lines', () => {
    const text = '<a><b>1</b><c/><d>2</d></a>';
    const pieces = cutAll(text, 13, betweenElements);
    expect(pieces.join('')).toBe(text);
    for (const piece of pieces) expect(piece).toMatch(/^<.*>$/);
  });
});
