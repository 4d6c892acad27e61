import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import type { ScanPlan } from '../../src/process-logs/plan.js';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { logText, planFor } from '../support/log-maker.js';

/**
 * Malformed logs, row by row: a file is refused as a whole, or its line is rejected with number and reason. The cases are
 * those in which a general CSV reader was seen to guess, swap or swallow (common practice of recorders and exports).
 */

const plan = planFor({ seed: 1, rows: 0, channels: 2 });
const HEADER = 'timestamp,layer,zone,step,oxygen,moisture';
const good = (second: number) => `2026-03-02T07:15:${String(second).padStart(2, '0')}.000Z,1,Z1,deposit,12.5,8.25`;
const row = (changes: Partial<Record<'time' | 'layer' | 'zone' | 'step' | 'oxygen' | 'moisture', string>>) =>
  [
    changes.time ?? '2026-03-02T07:15:01.000Z',
    changes.layer ?? '1',
    changes.zone ?? 'Z1',
    changes.step ?? 'deposit',
    changes.oxygen ?? '12.5',
    changes.moisture ?? '8.25',
  ].join(',');

function scan(content: string | Uint8Array, used: ScanPlan = plan): TextScan {
  const scanner = new LogScanner(used, 'log.csv');
  scanner.push(Buffer.from(content));
  return scanner.end();
}

function problemsOf(action: () => unknown): readonly Problem[] {
  try {
    action();
  } catch (error) {
    if (error instanceof BadInputError) return error.problems;
    throw error;
  }
  throw new Error('nothing was refused');
}

/** A good row before and after, so that the file has three rows and the bad one is line 3. */
const around = (line: string) => `${HEADER}\n${good(0)}\n${line}\n${good(2)}\n`;

describe('a line is rejected with number and reason', () => {
  it.each([
    { name: 'layer 1.6', line: row({ layer: '1.6' }), code: 'layer', field: 'layer' },
    { name: 'layer 1e1', line: row({ layer: '1e1' }), code: 'layer', field: 'layer' },
    { name: 'layer −1', line: row({ layer: '-1' }), code: 'layer', field: 'layer' },
    { name: 'layer of eight digits', line: row({ layer: '10000000' }), code: 'layer', field: 'layer' },
    { name: 'number 1_000', line: row({ oxygen: '1_000' }), code: 'number', field: 'oxygen' },
    { name: 'number with blanks', line: row({ oxygen: ' 1.5 ' }), code: 'number', field: 'oxygen' },
    { name: 'number beyond the largest double', line: row({ moisture: '1e400' }), code: 'number', field: 'moisture' },
    { name: 'Infinity', line: row({ moisture: 'Infinity' }), code: 'number', field: 'moisture' },
    { name: 'ERR', line: row({ oxygen: 'ERR' }), code: 'number', field: 'oxygen' },
    { name: 'hexadecimal', line: row({ oxygen: '0x10' }), code: 'number', field: 'oxygen' },
    { name: 'two points', line: row({ oxygen: '1.5.2' }), code: 'number', field: 'oxygen' },
    { name: 'thousands with a point and a comma', line: row({ oxygen: '"1.234,5"' }), code: 'number', field: 'oxygen' },
    { name: 'thousands with an apostrophe', line: row({ oxygen: "1'234" }), code: 'number', field: 'oxygen' },
    { name: 'a unit behind the number', line: row({ oxygen: '12.5 ppm' }), code: 'number', field: 'oxygen' },
    { name: 'a less-than sign', line: row({ oxygen: '<0.5' }), code: 'number', field: 'oxygen' },
    { name: 'Arabic-Indic digits', line: row({ oxygen: '١٢' }), code: 'number', field: 'oxygen' },
    { name: 'a minus that is a dash', line: row({ oxygen: '−5' }), code: 'number', field: 'oxygen' },
    { name: 'exponent of four digits', line: row({ oxygen: '1e0001' }), code: 'number', field: 'oxygen' },
    { name: 'null in words', line: row({ oxygen: 'null' }), code: 'number', field: 'oxygen' },
    { name: 'n/a', line: row({ oxygen: 'n/a' }), code: 'number', field: 'oxygen' },
    { name: 'a blank that is a space', line: row({ oxygen: ' ' }), code: 'number', field: 'oxygen' },
    { name: 'lone minus', line: row({ oxygen: '-' }), code: 'number', field: 'oxygen' },
    { name: 'quoted decimal comma', line: row({ oxygen: '"1,5"' }), code: 'number', field: 'oxygen' },
    { name: 'timestamp without zone', line: row({ time: '2026-03-02T07:15:01.000' }), code: 'timestamp' },
    { name: 'date only', line: row({ time: '2026-03-02' }), code: 'timestamp' },
    { name: '30 February', line: row({ time: '2026-02-30T07:15:01.000Z' }), code: 'timestamp' },
    { name: '13th month', line: row({ time: '2026-13-02T07:15:01.000Z' }), code: 'timestamp' },
    { name: 'hour 24', line: row({ time: '2026-03-02T24:00:00.000Z' }), code: 'timestamp' },
    { name: 'second 60', line: row({ time: '2026-03-02T07:15:60.000Z' }), code: 'timestamp' },
    { name: 'seconds :5 for :05', line: row({ time: '2026-03-02T07:15:5.000Z' }), code: 'timestamp' },
    { name: 'a point and no decimals', line: row({ time: '2026-03-02T07:15:01.Z' }), code: 'timestamp' },
    { name: 'offset of 15 hours', line: row({ time: '2026-03-02T22:15:01.000+15:00' }), code: 'timestamp' },
    { name: '29 February of a common year', line: row({ time: '2026-02-29T07:15:01.000Z' }), code: 'timestamp' },
    { name: 'a blank instead of the T', line: row({ time: '2026-03-02 07:15:01.000Z' }), code: 'timestamp' },
    { name: 'day first', line: row({ time: '02.03.2026 07:15:01' }), code: 'timestamp' },
    { name: 'seconds since 1970', line: row({ time: '1772435701' }), code: 'timestamp' },
    { name: 'offset without colon', line: row({ time: '2026-03-02T08:15:01.000+0100' }), code: 'timestamp' },
    { name: 'name of a zone', line: row({ time: '2026-03-02T08:15:01.000 CET' }), code: 'timestamp' },
    {
      name: 'a comma before the decimals, quoted',
      line: row({ time: '"2026-03-02T07:15:01,000Z"' }),
      code: 'timestamp',
    },
    { name: 'year of five digits', line: row({ time: '12026-03-02T07:15:01.000Z' }), code: 'timestamp' },
    { name: 'small z', line: row({ time: '2026-03-02T07:15:01.000z' }), code: 'timestamp' },
    { name: 'header repeated', line: HEADER, code: 'timestamp' },
    { name: 'step with a blank before it', line: row({ step: ' deposit' }), code: 'step', field: 'step' },
    { name: 'zone with a blank before it', line: row({ zone: ' Z1' }), code: 'zone', field: 'zone' },
    { name: 'unclosed quote', line: row({ zone: '"Z1' }), code: 'quotes' },
    { name: 'quote inside', line: row({ zone: 'Z"1' }), code: 'quotes' },
    { name: 'text behind a closing quote', line: row({ zone: '"Z"1' }), code: 'quotes' },
    { name: 'extra column', line: `${row({})},1`, code: 'number of fields' },
    { name: 'comma at the end', line: `${row({})},`, code: 'number of fields' },
    { name: 'unquoted decimal comma', line: row({ oxygen: '1,5' }), code: 'number of fields' },
    { name: 'missing column', line: good(1).slice(0, good(1).lastIndexOf(',')), code: 'number of fields' },
    { name: 'semicolons', line: row({}).replaceAll(',', ';'), code: 'number of fields' },
    { name: 'NUL in a name', line: row({ zone: 'Z\u00001' }), code: 'control character' },
    { name: 'NUL block', line: '\u0000'.repeat(200), code: 'control character' },
    { name: 'carriage return inside', line: row({ zone: 'Z\r1' }), code: 'control character' },
    { name: 'time going back', line: row({ time: '2026-03-02T07:14:59.000Z' }), code: 'time going back' },
  ])('$name', ({ line, code, field }) => {
    const result = scan(around(line));
    expect(result.rejections).toHaveLength(1);
    expect(result.rejections[0]).toMatchObject({ line: 3, code, ...(field === undefined ? {} : { field }) });
    expect(result).toMatchObject({ rows: 2, rejectedRows: 1, lines: 4, rejectionsByCode: { [code]: 1 } });
    const rule = code === 'time going back' ? 'time going back' : 'rows rejected';
    expect(result.part.findings.find((finding) => finding.rule === rule)).toMatchObject({
      level: 'action',
      facts: { rows: 1, lineFrom: 3, lineTo: 3 },
    });
  });

  it('bad UTF-8', () => {
    const bytes = Buffer.from(around(row({ zone: 'Z?' })));
    bytes[bytes.indexOf('?')] = 0xff;
    expect(scan(bytes).rejections).toEqual([expect.objectContaining({ line: 3, code: 'encoding' })]);
  });

  it('a line of 3 MB, whole or in pieces', () => {
    const text = Buffer.from(around(row({ zone: 'Z'.repeat(3_000_000) })));
    expect(scan(text).rejections).toEqual([expect.objectContaining({ line: 3, code: 'line too long' })]);
    const scanner = new LogScanner(plan, 'log.csv');
    for (let at = 0; at < text.length; at += 100_000) scanner.push(text.subarray(at, at + 100_000));
    expect(scanner.end()).toMatchObject({ rows: 2, lines: 4, rejectionsByCode: { 'line too long': 1 } });
  });

  it('a line break inside quotes is two broken lines, and costs no third', () => {
    const result = scan(around(row({ zone: '"Z\n1"' })));
    expect(result.rejections.map((rejection) => rejection.line)).toEqual([3, 4]);
    expect(result.rows).toBe(2);
  });

  it('the last line without line feed, even when its numbers look right', () => {
    const result = scan(`${HEADER}\n${good(0)}\n${good(1).slice(0, -2)}`);
    expect(result.rejections).toEqual([expect.objectContaining({ line: 3, code: 'unfinished line' })]);
    expect(result.rows).toBe(1);
    expect(result.summaries.find((summary) => summary.channel === 'moisture')).toMatchObject({ n: '1', max: '8.25' });
  });

  it('lists a thousand and counts all', () => {
    const bad = Array.from({ length: 1500 }, () => row({ oxygen: 'ERR' })).join('\n');
    const result = scan(`${HEADER}\n${good(0)}\n${bad}\n${good(1)}\n`);
    expect(result.rejections).toHaveLength(1000);
    expect(result.rejectionsByCode).toEqual({ number: 1500 });
    expect(result.part.findings.find(({ rule }) => rule === 'rows rejected')?.facts).toMatchObject({
      what: { code: 'rejected', reason: 'number' },
      rows: 1500,
      lineFrom: 3,
      lineTo: 1502,
    });
  });
});

describe('harmless forms are read', () => {
  it.each([
    { name: 'byte order mark', text: `\uFEFF${around(good(1))}` },
    { name: 'CR LF', text: around(good(1)).replaceAll('\n', '\r\n') },
    { name: 'CR LF and LF mixed', text: around(`${good(1)}\r`) },
    { name: 'quoted text', text: around(row({ zone: '"Z1"', oxygen: '"12.5"' })) },
    { name: 'offset of two hours', text: around(row({ time: '2026-03-02T09:15:01.000+02:00' })) },
    { name: 'negative offset', text: around(row({ time: '2026-03-02T02:45:01-04:30' })) },
    { name: 'no decimals of a second', text: around(row({ time: '2026-03-02T07:15:01Z' })) },
    { name: 'exponent and plus sign', text: around(row({ oxygen: '+1.25e1' })) },
    { name: 'many digits', text: around(row({ oxygen: '12.500000000000000000' })) },
    { name: 'columns in another order', text: around(good(1)).replace('oxygen,moisture', 'moisture,oxygen') },
  ])('$name', ({ name, text }) => {
    const result = scan(text);
    expect(result).toMatchObject({ rows: 3, rejectedRows: 0, firstAt: '2026-03-02T07:15:00.000Z' });
    const max = name === 'columns in another order' ? '8.25' : '12.5';
    expect(result.summaries.filter((summary) => summary.channel === 'oxygen')).toEqual([
      expect.objectContaining({ n: '3', min: max, max, zone: 'Z1' }),
    ]);
  });

  it('a name with a comma in quotes is one name, and is not taken for two fields afterwards', () => {
    const quoted = row({ zone: '"Z,1"', time: '2026-03-02T07:15:01.000Z' });
    const plain = `2026-03-02T07:15:02.000Z,1,Z,1,deposit,12.5`;
    const result = scan(`${HEADER}\n${quoted}\n${plain}\n`);
    expect(result.summaries.map((summary) => summary.zone)).toContain('Z,1');
    expect(result.rejections).toEqual([expect.objectContaining({ line: 3, code: 'number', field: 'oxygen' })]);
  });

  it('blank lines, blank cells and NaN are counted, each for itself', () => {
    const result = scan(
      `${HEADER}\n${good(0)}\n\n${row({ oxygen: '' })}\n${row({ oxygen: 'NaN', moisture: 'nan' })}\n`,
    );
    expect(result).toMatchObject({ rows: 3, blankLines: 1, rejectedRows: 0 });
    expect(result.channels).toEqual([
      { channel: 'oxygen', blank: 1, notANumber: 1, notConverted: 0 },
      { channel: 'moisture', blank: 0, notANumber: 1, notConverted: 0 },
    ]);
  });
});

describe('the file is refused', () => {
  it.each([
    { name: 'empty file', text: '', code: 'log-empty' },
    { name: 'missing header', text: `${good(0)}\n${good(1)}\n`, code: 'log-header', line: 1 },
    { name: 'semicolons', text: around(good(1)).replaceAll(',', ';'), code: 'log-header', line: 1 },
    { name: 'column missing', text: `timestamp,layer,zone,step,oxygen\n`, code: 'log-header', field: 'moisture' },
    { name: 'column not expected', text: `${HEADER},argon\n`, code: 'log-header', field: 'column 7' },
    { name: 'column twice', text: `${HEADER},oxygen\n`, code: 'log-header', field: 'column 7' },
    { name: 'column without name', text: `${HEADER},\n`, code: 'log-header', field: 'column 7' },
    { name: 'other case', text: 'Timestamp,layer,zone,step,oxygen,moisture\n', code: 'log-header' },
    { name: 'header only', text: `${HEADER}\n`, code: 'log-without-rows' },
    { name: 'BOM in the middle of the header', text: `timestamp,\uFEFFlayer,zone,step\n`, code: 'log-header', line: 1 },
    { name: 'a first line that never ends', text: 'x'.repeat(70_000), code: 'log-header', line: 1 },
    { name: 'comment before the header', text: `# run 42\n${around(good(1))}`, code: 'log-header', line: 1 },
    { name: 'blank line before the header', text: `\n${around(good(1))}`, code: 'log-header', line: 1 },
    { name: 'only NUL bytes', text: '\u0000'.repeat(4096), code: 'log-header', line: 1 },
    { name: 'header cut', text: 'timestamp,layer,zo', code: 'log-header' },
    { name: 'one row, cut', text: `${HEADER}\n${good(0)}`, code: 'log-without-rows', line: 2 },
    {
      name: 'other unit',
      text: `${HEADER}\nucum,,,,%,[ppm]\n${good(0)}\n`,
      code: 'log-unit',
      field: 'oxygen',
      line: 2,
    },
    { name: 'unit row too short', text: `${HEADER}\nucum,,,,[ppm]\n${good(0)}\n`, code: 'log-unit-row', line: 2 },
  ])('$name', ({ text, code, field, line }) => {
    const [problem] = problemsOf(() => scan(text));
    expect(problem).toMatchObject({ code, file: 'log.csv' });
    if (field !== undefined) expect(problem!.field).toBe(field);
    if (line !== undefined) expect(problem!.line).toBe(line);
    expect(problem!.expected).not.toBe('');
    expect(problem!.remedy).not.toBe('');
  });

  it('UTF-16', () => {
    const [problem] = problemsOf(() => scan(Buffer.from(`\uFEFF${around(good(1))}`, 'utf16le')));
    expect(problem).toMatchObject({ code: 'log-header', found: 'bytes that are not UTF-8 text' });
  });

  it('names every missing and unexpected column at once', () => {
    const problems = problemsOf(() => scan('timestamp,layer,zone,step,argon,helium\n'));
    expect(problems.map((problem) => problem.field)).toEqual(['column 5', 'column 6', 'oxygen', 'moisture']);
  });

  it('accepts a unit row that says what the plan says', () => {
    expect(scan(`${HEADER}\nucum,,,,[ppm],[ppm]\n${good(0)}\n`)).toMatchObject({ rows: 1, rejectedRows: 0 });
  });

  it('a unit row anywhere else is a bad timestamp', () => {
    const result = scan(`${HEADER}\n${good(0)}\nucum,,,,[ppm],[ppm]\n`);
    expect(result.rejections).toEqual([expect.objectContaining({ line: 3, code: 'timestamp' })]);
  });

  it('refuses a plan that cannot be', () => {
    const window = { ...plan.windows[0]!, low: 5, high: 1 };
    const impossible = { ...plan, windows: [window], gapLimitMs: 1, nominalPeriodMs: 100 };
    const fields = problemsOf(() => new LogScanner(impossible, 'log.csv')).map((problem) => problem.field);
    expect(fields).toEqual(['plan.windows[0]', 'plan.gapLimitMs']);
  });
});

describe('files', () => {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-logs-'));
  const shape = { seed: 4, rows: 4000, channels: 2 };
  const filePlan = planFor(shape);
  const text = Buffer.from(logText(shape));
  const packed = gzipSync(text);
  let count = 0;
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  function scanBytes(bytes: Uint8Array) {
    count += 1;
    const file = path.join(folder, `${count}`);
    writeFileSync(file, bytes);
    return scanFile({ path: file, fileName: 'logs/run.csv.gz', plan: filePlan });
  }

  it('reads gzip like plain, with both hashes', async () => {
    const { facts: plain, ...plainRest } = await scanBytes(text);
    const { facts: unpacked, ...rest } = await scanBytes(packed);
    expect(rest).toEqual(plainRest);
    expect(plain.sha256).toBe(plain.textSha256);
    expect(unpacked.textSha256).toBe(plain.sha256);
    expect(unpacked.sha256).not.toBe(plain.sha256);
    expect([plain.bytes, unpacked.bytes]).toEqual([text.length, packed.length]);
  });

  it('reads several gzip members one behind the other, and zeros at the end', async () => {
    const half = text.indexOf('\n', text.length / 2) + 1;
    const members = [gzipSync(text.subarray(0, half)), gzipSync(text.subarray(half)), Buffer.alloc(512)];
    const { facts } = await scanBytes(Buffer.concat(members));
    expect(facts).toMatchObject({ rows: 4000, rejectedRows: 0 });
  });

  const flipped = (index: number) => {
    const copy = Buffer.from(packed);
    copy[index]! ^= 0x10;
    return copy;
  };
  it.each([
    { name: 'cut in the middle', bytes: packed.subarray(0, packed.length / 2), code: 'gzip-cut' },
    { name: 'cut in the checksum', bytes: packed.subarray(0, -3), code: 'gzip-cut' },
    { name: 'wrong checksum', bytes: flipped(packed.length - 6), code: 'gzip-damaged' },
    { name: 'other bytes behind it', bytes: Buffer.concat([packed, Buffer.from('more')]), code: 'gzip-damaged' },
  ])('refuses gzip $name', async ({ bytes, code }) => {
    await expect(scanBytes(bytes)).rejects.toMatchObject({
      problems: [expect.objectContaining({ code, file: 'logs/run.csv.gz' })],
    });
  });

  it('refuses an empty file', async () => {
    await expect(scanBytes(Buffer.alloc(0))).rejects.toMatchObject({
      problems: [expect.objectContaining({ code: 'log-empty', file: 'logs/run.csv.gz' })],
    });
  });

  it('leaves the error of a file that is not there as it is', async () => {
    const request = { path: path.join(folder, 'none'), fileName: 'none', plan: filePlan };
    await expect(scanFile(request)).rejects.toMatchObject({ code: 'ENOENT' });
  });
});

it('refuses a log of which too many lines cannot be used, with the line, and what most of them are', () => {
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(`${HEADER}\n${good(1)}\nx,1\n`));
  const bad = Buffer.from(`${row({ oxygen: 'x' })}\n`.repeat(MOST.logRejectedLines - 1));
  scanner.push(bad);
  expect(scanner.linesRead).toBe(MOST.logRejectedLines + 2);
  expect(problemsOf(() => scanner.push(Buffer.from('x,1\n')))).toEqual([
    expect.objectContaining({
      code: 'log-rejected',
      file: 'log.csv',
      line: MOST.logRejectedLines + 3,
      found: expect.stringContaining(`${MOST.logRejectedLines - 1} of them for: number`),
    }),
  ]);
});
