import fc from 'fast-check';
import { CsvFault, csvRecords } from '../../src/base/csv-records.js';
import { readCsv, writeCsv } from '../../src/dossier/csv.js';

const read = (text: string, longest = 1000) => [...csvRecords(text, longest)];

it('says of each record the line on which it begins', () => {
  expect(read('a,b\n"x\r\ny",1\r\n\n"p\n\nq","r\ns"\nlast,2')).toEqual([
    { fields: ['a', 'b'], line: 1 },
    { fields: ['x\ny', '1'], line: 2 },
    { fields: ['p\n\nq', 'r\ns'], line: 5 },
    { fields: ['last', '2'], line: 9 },
  ]);
});

it.each([
  ['a,"b', 1, 3],
  ['a,b"c\n', 1, 4],
  ['a\n"x\ny"z,1\n', 3, 3],
  ['a\n"x""\n', 2, 1],
  ['a,"b"\rc\n', 1, 6],
])('refuses %j at %i:%i', (text, line, column) => {
  expect(() => read(text)).toThrow(CsvFault);
  expect(() => read(text)).toThrow(`${line}:${column}: `);
});

it('refuses a quote that is closed too far below', () => {
  expect(() => read(`"${'x'.repeat(90)}"\n`, 80)).toThrow('1:1');
});

const rows = fc.array(fc.array(fc.stringMatching(/^[a,"\n\r ]{0,5}$/), { minLength: 2, maxLength: 2 }), {
  maxLength: 5,
});

it('reads every table that the canonical writer writes', () => {
  fc.assert(
    fc.property(rows, (table) => {
      const text = writeCsv(['x', 'y'], table);
      expect(readCsv(['x', 'y'], text)).toEqual(table);
      const filled = table.filter((row) => row.join('') !== '' || row.length > 1);
      expect(
        read(text)
          .slice(1)
          .map(({ fields }) => fields),
      ).toEqual(filled.map((row) => row.map((field) => field.replaceAll('\r\n', '\n'))));
    }),
  );
});

it('reads nothing back that the canonical writer would have written otherwise', () => {
  const text = fc.stringMatching(/^(?:[xy,"\n\r]){0,12}$/).map((body) => `x,y\n${body}`);
  fc.assert(
    fc.property(text, (given) => {
      let table: string[][];
      try {
        table = readCsv(['x', 'y'], given);
      } catch {
        return;
      }
      expect(writeCsv(['x', 'y'], table)).toBe(given);
    }),
    { numRuns: 3000 },
  );
});

it.each(['x,y\n"a",b\n', 'x,y\r\na,b\r\n', 'x,y\na,b"\n', '"x",y\n', 'x,y\n"a,b",c\r\n'])(
  'refuses the table %j, which is not canonical',
  (text) => expect(() => readCsv(['x', 'y'], text)).toThrow(),
);
