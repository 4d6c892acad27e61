import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { statementOf } from '../../src/assessment/family/statement.js';
import { familyStudy } from '../../src/assessment/family/study.js';
import { programName } from '../../src/base/settings.js';
import { canonicalJson } from '../../src/dossier/canonical.js';
import { unanswered } from '../../src/verify/verify-capability.js';
import { isStatement, verifyStatement } from '../../src/verify/verify-statement.js';
import { temporaryFolder } from '../support/cell.js';
import { normalNumbers } from '../support/numbers.js';
import { buildsOf, studyInput } from '../support/study-input.js';

const normal = normalNumbers(21);
const rows = buildsOf(
  Array.from({ length: 24 }, () => Array.from({ length: 3 }, () => Math.round(10 * (231 + 1.2 * normal())) / 10)),
);
const input = studyInput(rows, { plan: { subgroup: 'build' }, baseline: 22 });
const stated = statementOf(input, familyStudy(input), {
  ...{ number: 1, program: programName(), previous: null },
  ledger: { size: 40, root: 'ab'.repeat(32) },
});
const folder = temporaryFolder('statement');
let files = 0;
function written(text: string): string {
  files += 1;
  const file = path.join(folder, `${files}.json`);
  fs.writeFileSync(file, text);
  return file;
}

it('comes to the same again from its file alone', () => {
  const file = written(canonicalJson(stated));
  expect(isStatement(file)).toBe(true);
  expect(verifyStatement(file)).toMatchObject({ answer: 'holds', difference: null, statement: { family: 'PLATE' } });
  expect(canonicalJson(statementOf(input, familyStudy(input), stated))).toBe(canonicalJson(stated));
});

it('is the same bytes in whatever time zone it is made', () => {
  const zone = process.env.TZ;
  try {
    const made = ['Pacific/Kiritimati', 'Pacific/Pago_Pago', 'Europe/Berlin'].map((one) => {
      process.env.TZ = one;
      return canonicalJson(statementOf(input, familyStudy(input), stated));
    });
    expect(new Set(made)).toEqual(new Set([canonicalJson(stated)]));
  } finally {
    if (zone === undefined) delete process.env.TZ;
    else process.env.TZ = zone;
  }
});

it.runIf(process.env.LOTWRIGHT_TEST_LONG)('is the same bytes in two processes and two time zones', () => {
  const root = path.join(import.meta.dirname, '..', '..');
  const given = written(canonicalJson(stated));
  const script = `
    const fs = require('node:fs');
    (async () => {
      const { statedAgain } = await import('${root}/src/assessment/family/statement.ts');
      const { canonicalJson } = await import('${root}/src/dossier/canonical.ts');
      process.stdout.write(canonicalJson(statedAgain(JSON.parse(fs.readFileSync('${given}', 'utf8')))));
    })();`;
  for (const TZ of ['Pacific/Kiritimati', 'America/Los_Angeles']) {
    const words = ['--import', path.join(root, 'tests/support/typescript.mjs'), '--input-type=commonjs', '-e', script];
    const { status, stdout, stderr } = spawnSync(process.execPath, words, {
      env: { ...process.env, TZ },
      encoding: 'utf8',
    });
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toBe(canonicalJson(stated));
  }
});

it.each([
  ['an index', (one: typeof stated) => Object.assign(one.study.index, { ppk: 9.9 }), 'study.index.ppk'],
  ['a build that was left out', (one: typeof stated) => one.input.rows.pop(), 'rowsSha256'],
  ['a value', (one: typeof stated) => Object.assign(one.input.rows[3]!.values[0]!, { value: 229.2 }), 'rowsSha256'],
  ['a limit', (one: typeof stated) => Object.assign(one.input.characteristic, { lower: '200' }), 'study.'],
  ['the target', (one: typeof stated) => Object.assign(one.input.plan, { target: '9' }), 'study.'],
] as const)('shows where %s was changed', (_, change, place) => {
  const copy = structuredClone(stated);
  change(copy);
  const found = verifyStatement(written(canonicalJson(copy)));
  expect(found.answer).toBe('altered');
  expect(found.difference!.place.startsWith(place)).toBe(true);
});

it('names a file that says the same in another form, one of another version, and one that is none', () => {
  expect(verifyStatement(written(JSON.stringify(stated, null, 1))).answer).toBe('altered');
  const older = { ...structuredClone(stated), program: 'an earlier one' };
  older.study.index.ppk = 1;
  expect(verifyStatement(written(canonicalJson(older))).answer).toBe('another version');
  expect(() => verifyStatement(written('{"a":1}'))).toThrow();
  expect(isStatement(written('%PDF-1.7'))).toBe(false);
});

describe('the review of a statement that asks for an answer', () => {
  const overdue = { code: 'overdue' } as never;
  const signed = (meaning: string, reason: string | null) => ({ statement: { meaning, reason } }) as never;

  it.each([
    ['without a reason', [signed('reviewed', null)], 1],
    ['with blanks for a reason', [signed('reviewed', '  ')], 1],
    ['with a reason', [signed('reviewed', 'it was seen again an hour later')], 0],
    ['by two, of whom one says why', [signed('reviewed', null), signed('reviewed', 'seen again')], 0],
    ['that nobody signed yet', [], 0],
  ])('%s', (_, signatures, left) => {
    expect(unanswered([overdue, { code: 'points alike' } as never], signatures)).toHaveLength(left);
  });

  it('needs no reason where it asks for nothing', () => {
    expect(unanswered([{ code: 'points alike' } as never], [signed('reviewed', null)])).toEqual([]);
  });
});
