import { readResultSheet } from '../../src/intake/results-file.js';

const HEAD = 'specimen,characteristic,replicate,value,ucum,measuredAt,instrument,analyst,method,methodRevision';

it('of which every line is wrong is told of a thousand times, and that the rest was not read', () => {
  const { problems } = readResultSheet('tensile.csv', Buffer.from(`${HEAD}\n${'shifted,columns\n'.repeat(2000)}`));
  expect(problems).toHaveLength(1001);
  expect(problems.at(-1)).toMatchObject({ code: 'too-many-problems', line: 1002 });
});
