import { MOST } from '../../src/base/limits.js';
import { readResultSheet } from '../../src/intake/results-file.js';

const HEAD = 'specimen,characteristic,replicate,value,ucum,measuredAt,instrument,analyst,method,methodRevision';

it('of which every line is wrong is told of a thousand times, and that the rest was not read', () => {
  const { problems } = readResultSheet('tensile.csv', Buffer.from(`${HEAD}\n${'shifted,columns\n'.repeat(2000)}`));
  expect(problems).toHaveLength(1001);
  expect(problems.at(-1)).toMatchObject({ code: 'too-many-problems', line: 1002 });
});

it.each([
  ['more rows than may be', `${HEAD}\n${'\n,,,,,,,,,'.repeat(MOST.sheetRows + 1)}\n`, 'too-many-rows'],
  ['a quote that is not closed', `${HEAD}\n"${'x'.repeat(MOST.sheetLineCharacters)}\n`, 'csv'],
  ['a row of nothing but commas', `${HEAD}\n${','.repeat(MOST.sheetLineCharacters + 1)}\n`, 'csv'],
])('is refused with %s', (_, text, code) => {
  const { rows, problems } = readResultSheet('tensile.csv', Buffer.from(text));
  expect([rows, problems]).toEqual([[], [expect.objectContaining({ code, line: expect.any(Number) })]]);
});

it('names the first line of a row that goes over several, and takes line ends of either kind inside quotes', () => {
  const row = (value: string, reason: string) =>
    `S-1,strength,1,${value},MPa,2031-03-03T07:00:00Z,I-1,P-1,M-1,1,${reason}\r\n`;
  const text = `${HEAD},reason\r\n${row('1.0', '"two\r\nlines"')}${row('x', '"two\r\nlines"')}${row('y', '')}`;
  const { rows, problems } = readResultSheet('tensile.csv', Buffer.from(text));
  expect(rows).toMatchObject([{ line: 2, reason: 'two\nlines' }]);
  expect(problems.map(({ line, field }) => [line, field])).toEqual([
    [4, 'value'],
    [6, 'value'],
  ]);
});
