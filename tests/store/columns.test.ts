import { COLUMNS } from '../../src/store/columns.js';
import { Prisma } from '../../src/store/generated/client.js';
import { Prisma as OnServer } from '../../src/store/generated-postgresql/client.js';
import { plainQuestions } from '../../src/store/plain-questions.js';

it.each(Object.entries(COLUMNS))('names each column of %s that the schema has', (table, columns) => {
  for (const schema of [Prisma, OnServer]) {
    const known = schema[`${table}ScalarFieldEnum` as 'EventScalarFieldEnum'];
    expect([...columns].sort()).toEqual(Object.keys(known).sort());
  }
});

it('asks for columns by their names alone', () => {
  const isIn = (column: string) => `${column} IN (?)`;
  const asked = Object.values(
    plainQuestions({ place: () => '?', inTexts: isIn, inNumbers: isIn, now: "'now'", inMs: () => '?' }),
  );
  expect(asked.filter((question) => /SELECT\s+\*|\.\*/.test(question))).toEqual([]);
});
