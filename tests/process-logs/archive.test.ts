import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { excerptBetween, lastTimeUs, rowsBetween } from '../../src/process-logs/archive/archive-reader.js';
import { indexPath } from '../../src/process-logs/archive/archive-writer.js';
import { behindLastLine, betweenElements, MemberCutter } from '../../src/process-logs/archive/member-cutter.js';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { LOG_START_MS, logText, planFor } from '../support/log-maker.js';

/** The archive is read back with the gunzip of the system: RFC 1952, section 2.2, members one behind the other. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-archive-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const gunzip = (file: string): Buffer => execFileSync('gunzip', ['-c', file], { maxBuffer: 1 << 28 });

const SHAPE = { seed: 5, rows: 40_000, gaps: 0, repeatedTimes: 0 };
const PERIOD_MS = 100;
const TEXT = logText(SHAPE);
let made = 0;

async function archived(bytes: Uint8Array, clockOffsetMs = 0): Promise<string> {
  made += 1;
  const log = path.join(folder, `log-${made}`);
  const archive = path.join(folder, `archive-${made}.gz`);
  fs.writeFileSync(log, bytes);
  await scanFile({ path: log, fileName: 'log.csv', plan: planFor(SHAPE, { clockOffsetMs }), archive });
  return archive;
}

const timeUs = (row: number): number => (LOG_START_MS + row * PERIOD_MS) * 1000;

describe('an archive', () => {
  it('is what gunzip turns into the log, byte for byte, in more than one member', async () => {
    const archive = await archived(Buffer.from(TEXT));
    expect(gunzip(archive).equals(Buffer.from(TEXT))).toBe(true);
    const { members } = JSON.parse(fs.readFileSync(indexPath(archive), 'utf8')) as { members: unknown[] };
    expect(members.length).toBeGreaterThan(8);
  });

  it('holds the text of a log that came as gzip, and the scan finds the same with and without it', async () => {
    const packed = gzipSync(TEXT);
    const archive = await archived(packed);
    expect(gunzip(archive).equals(Buffer.from(TEXT))).toBe(true);
    const log = path.join(folder, 'plain');
    fs.writeFileSync(log, TEXT);
    const plan = planFor(SHAPE);
    const without = await scanFile({ path: log, fileName: 'log.csv', plan });
    const withIt = await scanFile({ path: log, fileName: 'log.csv', plan, archive: path.join(folder, 'other.gz') });
    expect(withIt).toEqual(without);
  });

  it.each([
    ['no line feed at the end', TEXT.slice(0, -7)],
    ['carriage returns', TEXT.replaceAll('\n', '\r\n')],
    ['a line of six megabytes', `${TEXT.slice(0, 200_000)}${'x'.repeat(6_000_000)}\n${TEXT.slice(200_000)}`],
    ['bytes that are no text', `${TEXT.slice(0, 200_000)}\u0000\u0001\n${TEXT.slice(200_000)}`],
  ])('gives back a log with %s', async (_name, text) => {
    const archive = await archived(Buffer.from(text));
    expect(gunzip(archive).equals(Buffer.from(text))).toBe(true);
  });
});

describe('rows between two times', () => {
  let archive: string;
  beforeAll(async () => {
    archive = await archived(Buffer.from(TEXT));
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
    const shifted = await archived(Buffer.from(TEXT), 90_000);
    const found = await rowsBetween(shifted, timeUs(1234), timeUs(1300));
    expect(found!.rows.map(({ text }) => text)).toEqual(lines.slice(1).slice(1234, 1300));
  });

  it('show a line that could not be read where it stands', async () => {
    const spoilt = [...lines];
    spoilt[500] = 'what is this';
    const other = await archived(Buffer.from(spoilt.join('\n')));
    const found = await rowsBetween(other, timeUs(497), timeUs(502));
    expect(found!.rows.map(({ line, text }) => [line, text.slice(0, 12)])).toContainEqual([501, 'what is this']);
  });

  it('are not given from an archive that is not whole', async () => {
    const whole = fs.readFileSync(archive);
    const cut = path.join(folder, 'cut.gz');
    fs.writeFileSync(cut, whole.subarray(0, whole.length - 1));
    fs.copyFileSync(indexPath(archive), indexPath(cut));
    expect(await rowsBetween(cut, 0, timeUs(10))).toBeUndefined();
    expect(await rowsBetween(path.join(folder, 'none.gz'), 0, timeUs(10))).toBeUndefined();
    fs.writeFileSync(cut, Buffer.concat([whole.subarray(0, 40), Buffer.from([1, 2, 3]), whole.subarray(43)]));
    await expect(rowsBetween(cut, 0, timeUs(10))).rejects.toThrow('damaged');
  });

  it('leave no index when the scan gives up', async () => {
    const log = path.join(folder, 'bad');
    fs.writeFileSync(log, 'not a log\n');
    const half = path.join(folder, 'half.gz');
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
