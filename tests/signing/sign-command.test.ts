import { spawnSync } from 'node:child_process';
import os from 'node:os';
import path from 'node:path';
import { PASSWORD } from '../support/people.js';
import { SigningCell } from '../support/signing-cell.js';

const CLI = path.resolve('dist/cli.js');

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.services.assessor.assess('L-1', 'local:tester');
});
afterAll(() => cell.close());

/** The compiled command, beside this process that has the folder open too. */
function run(words: readonly string[], password = PASSWORD) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [CLI, '--data', cell.folder.path, '--json', ...words],
    { encoding: 'utf8', input: `${password}\n` },
  );
  return { status, said: stdout.trim() === '' ? undefined : JSON.parse(stdout), stderr };
}

const sign = (person: string, meaning: string, more: readonly string[] = [], password = PASSWORD) =>
  run(['sign', 'lot file:L-1', '--person', person, '--meaning', meaning, '--password-stdin', ...more], password);
const released = ['--units', 'L-1-I1,L-1-I2'];

it('tells what waits, refuses with 5 and the reason, and signs with 0 as person and machine', async () => {
  const { said } = run(['waiting', '--person', 'P-QE']);
  expect(said.waiting).toEqual([expect.objectContaining({ thing: 'lot file:L-1', meaning: 'reviewed' })]);
  for (const [answer, why] of [
    [sign('P-QE', 'reviewed', [], 'nine loud lanterns'), 'identifier or password is wrong'],
    [sign('GHOST', 'reviewed'), 'identifier or password is wrong'],
    [sign('P-RE', 'released', released), 'nobody has reviewed'],
    [sign('P-AU', 'reviewed'), 'an auditor reads and changes nothing'],
  ] as const) {
    expect([answer.status, JSON.stringify(answer.said ?? '') + answer.stderr]).toEqual([
      5,
      expect.stringContaining(why),
    ]);
  }
  const looked = sign('P-QE', 'reviewed', ['--look']);
  expect(looked.status).toBe(0);
  expect(looked.said).toMatchObject({ meaning: 'reviewed', things: [{ title: 'lot file of L-1', mayNot: null }] });
  expect(looked.said.reviewList).toContainEqual(expect.objectContaining({ kind: 'refused act', by: 'P-RE' }));
  const stale = looked.said.seen.replace(/[0-9a-f]{64}$/, 'ab'.repeat(32));
  const conflict = sign('P-QE', 'reviewed', ['--seen', stale]);
  expect([conflict.status, conflict.said.error]).toEqual([
    2,
    expect.objectContaining({ code: 'CONFLICT', seen: looked.said.seen }),
  ]);
  expect(sign('P-QE', 'reviewed', ['--seen', 'nothing']).status).toBe(2);
  expect(sign('P-QE', 'reviewed', ['--seen', looked.said.seen])).toMatchObject({ status: 0 });
  const done = sign('P-RE', 'released', released);
  expect(done.status).toBe(0);
  expect(done.said.signed.statement).toMatchObject({ units: ['L-1-I1', 'L-1-I2'] });
  const { trail, ledger } = cell.services.store.read;
  for (const person of ['P-RE', 'P-QE', 'P-AU']) {
    const [entry] = await trail.before({ person }, (await ledger.size()) + 1, 1);
    expect(entry!.actor).toBe(`person:${person} through local:${os.userInfo().username}`);
  }
});

it('ends with 2 for what makes no sense, and never takes the user of the machine for a signer', () => {
  expect(sign('P-QE', 'blessed').status).toBe(2);
  expect(sign('P-QE', 'decided', ['--outcome', 'perhaps']).status).toBe(2);
  expect(run(['sign', 'lot file:L-1', '--meaning', 'reviewed', '--password-stdin']).status).toBe(2);
});
