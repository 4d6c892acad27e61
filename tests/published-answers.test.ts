import fs from 'node:fs';
import path from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { jsonText } from '../src/calculations/formulas-doc.js';
import { RESULT_TABLE } from '../src/dossier/tables.js';
import { publishedAnswers } from '../src/published-answers.js';
import { runCommand } from './support/run-command.js';
import { SigningCell } from './support/signing-cell.js';

/** JSON Schema, draft 2020-12, by a general validator: what is published is held against what is answered. */
const folder = path.join('docs', 'schemas', 'answers');
const schemas = new Map(publishedAnswers());
const ajv = new Ajv2020({ strict: false, validateFormats: false, allErrors: true });
const validated = (name: string, answer: unknown): unknown => {
  const id = `urn:lotwright:answer:${name}:1`;
  if (!ajv.getSchema(id)) ajv.addSchema(JSON.parse(fs.readFileSync(path.join(folder, `${name}.json`), 'utf8')));
  const validate = ajv.getSchema(id)!;
  return validate(answer) ? [] : validate.errors;
};

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.services.assessor.assess('L-1', 'local:tester');
});
afterAll(() => cell.close());

const ask = async (...words: string[]) => runCommand(cell.folder.path, words);

it.each([...schemas])('the schema of the answer "%s" is as it is published', (name, schema) => {
  const file = path.join(folder, `${name}.json`);
  expect(fs.readFileSync(file, 'utf8'), 'is stale: run node scripts/write-docs.mjs after a build').toBe(
    `${jsonText(schema)}\n`,
  );
});

it.each([
  ['results', ['results', 'L-1']],
  ['trend', ['trend', 'rm', '--family', 'PLATE']],
  ['trace', ['trace', 'L-1-I1']],
  ['impact', ['impact', 'I-RIG']],
])('the command "%s" answers by its published schema, and a word more or less is not of it', async (name, words) => {
  const { text } = await ask('--json', ...words);
  const answer = JSON.parse(text) as Record<string, unknown>;
  expect(validated(name, answer)).toEqual([]);
  expect(validated(name, { ...answer, more: 1 })).not.toEqual([]);
  for (const field of Object.keys(answer).filter((one) => answer[one] !== undefined)) {
    const { [field]: _, ...less } = answer;
    const required = (schemas.get(name as 'trace')!.required as string[]).includes(field);
    expect([field, validated(name, less)]).toEqual([
      field,
      required ? expect.arrayContaining([expect.anything()]) : [],
    ]);
  }
});

describe('values of a lot', () => {
  it('come with every column of the lot file, each as it was stored', async () => {
    const { text } = await ask('--json', 'results', 'L-1');
    const { results, head } = JSON.parse(text);
    const { rows } = await cell.services.store.read.results.ofLot('L-1');
    expect(results).toEqual(rows);
    expect(head.size).toBe(await cell.services.store.read.ledger.size());
    const csv = (await ask('results', 'L-1', '--format', 'csv')).text;
    expect(`${csv.trimEnd()}\n`).toBe(RESULT_TABLE.write(rows));
    expect((await ask('results', 'L-1')).text).toContain(`${rows.length} values of lot L-1:`);
  });

  it('are refused of a lot that is not there', async () => {
    expect(await ask('results', 'L-NONE')).toMatchObject({ code: 7 });
  });
});

it('builds of a trend come as a table, a row each', async () => {
  const { lots } = JSON.parse((await ask('--json', 'trend', 'rm', '--family', 'PLATE')).text);
  const [head, ...rows] = (await ask('trend', 'rm', '--family', 'PLATE', '--format', 'csv')).text.trimEnd().split('\n');
  expect(head).toBe('lot,build,builtAt,n,mean,min,max,censored,takenOut');
  expect(rows.map((row) => row.split(',')[0])).toEqual(lots.map(({ lot }: { lot: string }) => lot));
});
