import { digitsIn } from '../../src/process-logs/digits.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import { logText, planFor } from '../support/log-maker.js';

/** The last `count` of four bytes, read as text. */
const plainly = (bytes: Uint8Array, count: number): number => {
  const text = Buffer.from(bytes.subarray(4 - count)).toString('latin1');
  return /^[0-9]+$/.test(text) ? Number(text) : -1;
};

const wordOf = (bytes: Uint8Array): number => new DataView(bytes.buffer).getInt32(0, true);

describe('digits read at once', () => {
  it.each([1, 2, 3, 4])('%i of them are the number that they spell, whatever stands before them', (count) => {
    for (let number = 0; number < 10 ** count; number += 1) {
      for (const before of ['////', '0000', '99.-', '\u00ff\u00ff\u00ff\u00ff', ',\n.:']) {
        const text = `${before.slice(0, 4 - count)}${String(number).padStart(count, '0')}`;
        expect(digitsIn(wordOf(Uint8Array.from(Buffer.from(text, 'latin1'))), count)).toBe(number);
      }
    }
  });

  it('are none where any byte is no digit, in every place and beside every other', () => {
    for (let byte = 0; byte < 256; byte += 1) {
      for (const other of [0x30, 0x39, 0x2f, 0x3a, 0xff]) {
        for (let place = 0; place < 4; place += 1) {
          const bytes = new Uint8Array(4).fill(other);
          bytes[place] = byte;
          for (const count of [1, 2, 3, 4]) expect(digitsIn(wordOf(bytes), count)).toBe(plainly(bytes, count));
        }
      }
    }
  });
});

/** Means of one channel whose cells change their look from row to row, as text and as the numbers that they spell. */
describe('cells that look otherwise than those above them', () => {
  it.each([
    ['more digits', ['9.99', '10.00', '9.98', '100.5', '1.25', '12345.5', '0.12345']],
    ['signs', ['1.5', '-1.5', '-0.5', '0.5', '-10', '10', '-0.0']],
    ['no decimals', ['5', '5.5', '5.', '7', '.5', '7']],
    ['exponents and blanks', ['1.5', '1e1', '1.5', '', '1.5', '+1.5', '1.5']],
  ])('are read as the numbers that they spell: %s', (_what, cells) => {
    const shape = { seed: 3, rows: cells.length, channels: 1, gaps: 0, repeatedTimes: 0 };
    const [header, ...rows] = logText(shape).trimEnd().split('\n');
    const text = `${[header, ...rows.map((row, at) => `${row.slice(0, row.lastIndexOf(',') + 1)}${cells[at]}`)].join('\n')}\n`;
    const scanner = new LogScanner(planFor(shape), 'log.csv');
    scanner.push(Buffer.from(text));
    const { summaries, rejectedRows } = scanner.end();
    const numbers = cells.filter((cell) => cell !== '').map(Number);
    expect(rejectedRows).toBe(0);
    const n = summaries.reduce((sum, row) => sum + Number(row.n), 0);
    expect(n).toBe(numbers.length);
    const sum = summaries.reduce((total, row) => total + Number(row.n) * Number(row.mean || 0), 0);
    expect(sum).toBeCloseTo(
      numbers.reduce((total, number) => total + number, 0),
      9,
    );
    expect(Math.min(...summaries.filter((row) => row.min !== '').map((row) => Number(row.min)))).toBe(
      Math.min(...numbers),
    );
    expect(Math.max(...summaries.filter((row) => row.max !== '').map((row) => Number(row.max)))).toBe(
      Math.max(...numbers),
    );
  });
});
