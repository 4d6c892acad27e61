import fc from 'fast-check';
import { AppError } from '../../src/base/errors.js';
import type { ScanPlan } from '../../src/process-logs/plan.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { type LogShape, logLines, planFor, random } from '../support/log-maker.js';

/** The result must not depend on where the chunks begin and end, also when lines are broken in every possible way. */

const shape = { seed: 11, rows: 120, channels: 3, rowsPerStep: 9, gaps: 0.02, blanks: 0.05, repeatedTimes: 0.05 };
const plan = planFor(shape);

/** A log in which some lines were damaged at random: bytes dropped, doubled, or replaced. */
function damagedLog(seed: number, used: LogShape = shape): Buffer {
  const next = random(seed);
  const lines = [...logLines({ ...used, seed })].map((line, index) => {
    if (index === 0 || next() > 0.15) return line;
    const at = Math.floor(next() * line.length);
    const spoilt = [',', '"', '\r', '', 'é', '\u0000', '9', '-'][Math.floor(next() * 8)]!;
    return line.slice(0, at) + spoilt + line.slice(at + Math.floor(next() * 3));
  });
  const end = next() < 0.3 ? '' : '\n';
  return Buffer.from(lines.join(next() < 0.3 ? '\r\n' : '\n') + end);
}

function scanIn(bytes: Uint8Array, sizes: readonly number[], used: ScanPlan = plan): TextScan {
  const scanner = new LogScanner(used, 'log.csv');
  let at = 0;
  for (let turn = 0; at < bytes.length; turn += 1) {
    const size = sizes[turn % sizes.length]!;
    // A copy that is overwritten afterwards: the scanner may keep nothing of a chunk.
    const chunk = Uint8Array.from(bytes.subarray(at, at + size));
    scanner.push(chunk);
    chunk.fill(0x39);
    at += size;
  }
  return scanner.end();
}

/** The same with the units in a unit row, which may be damaged too, and moisture logged as a dew point. */
const unitShape = { ...shape, channels: 12, rows: 60, unitRow: true };
const unitPlan: ScanPlan = {
  ...planFor(unitShape),
  channels: planFor(unitShape).channels.map((channel) => {
    const fromRow = { ...channel, loggedUcum: null, unitFrom: [] };
    if (channel.name !== 'dew-point') return fromRow;
    const dewPoint = { over: 'ice', pressureChannel: 'pressure', ambientChannel: null } as const;
    return { ...fromRow, ucum: '[ppm]', dewPoint };
  }),
};

/** What is found, or why the file is refused. */
function outcomeOf(bytes: Uint8Array, sizes: readonly number[]): TextScan | string {
  try {
    return scanIn(bytes, sizes, unitPlan);
  } catch (error) {
    if (error instanceof AppError) return error.message;
    throw error;
  }
}

describe('chunking', () => {
  it.each([[1], [2], [3, 1, 7], [64], [1000]])('chunks of %s bytes give the same as one', (...sizes) => {
    const bytes = damagedLog(1);
    expect(scanIn(bytes, sizes)).toEqual(scanIn(bytes, [bytes.length]));
  });

  it('holds for any log and any chunks', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1_000_000 }),
        fc.array(fc.integer({ min: 1, max: 400 }), { minLength: 1, maxLength: 12 }),
        (seed, sizes) => {
          const bytes = damagedLog(seed);
          expect(scanIn(bytes, sizes)).toEqual(scanIn(bytes, [bytes.length]));
        },
      ),
      { numRuns: 60 },
    );
  });

  it('holds with a unit row and a dew point, and for files that are refused', () => {
    const bytes = damagedLog(5, unitShape);
    expect(outcomeOf(bytes, [bytes.length])).toMatchObject({ rows: expect.any(Number) });
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1_000_000 }),
        fc.array(fc.integer({ min: 1, max: 300 }), { minLength: 1, maxLength: 12 }),
        (seed, sizes) => {
          const damaged = damagedLog(seed, unitShape);
          expect(outcomeOf(damaged, sizes)).toEqual(outcomeOf(damaged, [damaged.length]));
        },
      ),
      { numRuns: 40 },
    );
  });

  it('accounts for every line: header, rows, rejected and blank', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1_000_000 }), (seed) => {
        const { lines, rows, rejectedRows, blankLines } = scanIn(damagedLog(seed), [4096]);
        expect(1 + rows + rejectedRows + blankLines).toBe(lines);
      }),
      { numRuns: 60 },
    );
  });

  it('writes no NaN and no infinity into what is stored', () => {
    const { part, summaries } = scanIn(damagedLog(3), [4096]);
    expect(JSON.parse(JSON.stringify(part))).toEqual(part);
    const texts = summaries.flatMap((row) => Object.values(row));
    expect(texts.filter((text) => /NaN|Infinity|undefined|null/.test(text))).toEqual([]);
  });
});
