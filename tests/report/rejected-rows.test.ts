import { BadInputError } from '../../src/base/errors.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import { takenLogText } from '../../src/report/phrases/rejected-rows.js';
import { planFor } from '../support/log-maker.js';

const HEADER = 'timestamp,layer,zone,step,oxygen,moisture';
const row = (second: number, oxygen = '12.5') => `2026-03-02T07:15:0${second}.000Z,1,Z1,deposit,${oxygen},8.25`;

function scan(lines: readonly string[]) {
  const scanner = new LogScanner(planFor({ seed: 1, rows: 0, channels: 2 }), 'log.csv');
  scanner.push(Buffer.from(`${lines.join('\n')}\n`));
  return scanner.end();
}

it.each([
  { name: 'no number', line: row(4, 'ERR'), code: 'number', words: '"ERR"' },
  {
    name: 'another number of fields, told with both',
    line: '1;2;3',
    code: 'number of fields',
    words: '1 instead of 6: "1;2;3"',
  },
  {
    name: 'a time before the last, told with both',
    line: row(1),
    code: 'time going back',
    words: '2026-03-02T07:15:01.000Z after 2026-03-02T07:15:03.000Z',
  },
  {
    name: 'a line that was too long to be kept',
    line: 'x'.repeat(70_000),
    code: 'line too long',
    words: 'more than 65 536 bytes',
  },
])('words what the scanner keeps of a rejected row as facts: $name', ({ line, code, words }) => {
  const { rows, rejections, rejectionsByCode } = scan([HEADER, row(3), line, row(5)]);
  const [firstRejected = null] = rejections;
  const text = takenLogText({ build: 'M1-101', rows, rejected: rejectionsByCode, firstRejected, findings: 1 });
  expect(text).toBe(`log of M1-101: 2 rows, rejected 1 for ${code}; the first is line 3: ${words}, 1 finding`);
});

it('says nothing of rejected rows where none was, and names the file where a build has several', () => {
  const { rows, rejections, rejectionsByCode } = scan([HEADER, row(3), row(4, 'ERR'), row(5)]);
  const log = { build: 'M1-101', rows, findings: 0 };
  expect(takenLogText({ ...log, rejected: {}, firstRejected: null })).toBe('log of M1-101: 2 rows, 0 findings');
  const firstRejected = { ...rejections[0]!, file: 'b.csv' };
  expect(takenLogText({ ...log, rejected: rejectionsByCode, firstRejected })).toContain('is line 3 of b.csv: "ERR"');
});

it('tells how long a line was at least, where a log has no other row', () => {
  const refused = () => scan([HEADER, 'x'.repeat(70_000)]);
  expect(refused).toThrow('no usable row; line 2, line too long: more than 65 536 bytes');
});

it('tells whoever takes in a log without a usable row how many fields a row has', () => {
  const refused = () => scan([HEADER, '1;2;3']);
  expect(refused).toThrow(BadInputError);
  expect(refused).toThrow('no usable row; line 2, number of fields: 1 instead of 6: "1;2;3"');
  expect(refused).toThrow('at least one complete row of 6 fields');
});
