import { spawnSync } from 'node:child_process';
import os from 'node:os';
import path from 'node:path';
import { PASSWORD } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { SigningCell } from '../support/signing-cell.js';

const CLI = path.resolve('bundle/cli.js');

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.services.assessor.assess('L-1', 'local:tester');
});
afterAll(() => cell.close());

/** The command, beside this test that has the folder open too. */
async function run(words: readonly string[], password = PASSWORD) {
  const { code, text } = await runCommand(cell.folder.path, ['--json', ...words], `${password}\n`);
  return { code, said: JSON.parse(text) };
}

const sign = (person: string, meaning: string, more: readonly string[] = [], password = PASSWORD) =>
  run(['sign', 'lot file:L-1', '--person', person, '--meaning', meaning, '--password-stdin', ...more], password);
const released = ['--units', 'L-1-I1,L-1-I2', '--for', 'distribution'];

it('tells what waits, refuses with 5 and the reason, and signs with 0 as person and machine', async () => {
  const { said } = await run(['waiting', '--person', 'P-QE']);
  expect(said.waiting).toEqual([expect.objectContaining({ thing: 'lot file:L-1', meaning: 'reviewed' })]);
  for (const [answer, why] of [
    [await sign('P-QE', 'reviewed', [], 'nine loud lanterns'), 'identifier or password is wrong'],
    [await sign('GHOST', 'reviewed'), 'identifier or password is wrong'],
    [await sign('P-RE', 'released', released), 'nobody has reviewed'],
    [await sign('P-AU', 'reviewed'), 'an auditor reads everything and changes nothing'],
  ] as const) {
    expect([answer.code, answer.said.error.message]).toEqual([5, expect.stringContaining(why)]);
  }
  const looked = await sign('P-QE', 'reviewed', ['--look']);
  expect(looked.code).toBe(0);
  expect(looked.said).toMatchObject({ meaning: 'reviewed', things: [{ title: 'lot file of L-1', mayNot: null }] });
  expect(looked.said.reviewList).toContainEqual(expect.objectContaining({ kind: 'refused act', by: 'P-RE' }));
  const stale = looked.said.seen.replace(/[0-9a-f]{64}$/, 'ab'.repeat(32));
  const conflict = await sign('P-QE', 'reviewed', ['--seen', stale]);
  expect([conflict.code, conflict.said.error]).toEqual([
    2,
    expect.objectContaining({ code: 'CONFLICT', seen: looked.said.seen }),
  ]);
  expect(await sign('P-QE', 'reviewed', ['--seen', 'nothing'])).toMatchObject({ code: 2 });
  expect(await sign('P-QE', 'reviewed', ['--seen', looked.said.seen])).toMatchObject({ code: 0 });
  const done = await sign('P-RE', 'released', released);
  expect(done.code).toBe(0);
  expect(done.said.signed.statement).toMatchObject({ units: ['L-1-I1', 'L-1-I2'], step: 'distribution' });
  const { trail, ledger } = cell.services.store.read;
  for (const person of ['P-RE', 'P-QE', 'P-AU']) {
    const [entry] = await trail.before({ person }, (await ledger.size()) + 1, 1);
    expect(entry!.actor).toBe(`person:${person} through local:${os.userInfo().username}`);
  }
});

it('ends with 2 for what makes no sense, and never takes the user of the machine for a signer', async () => {
  expect(await sign('P-QE', 'blessed')).toMatchObject({ code: 2 });
  expect(await sign('P-QE', 'decided', ['--outcome', 'perhaps'])).toMatchObject({ code: 2 });
  expect(await sign('P-RE', 'released', ['--units', 'L-1-I1', '--for', 'sale'])).toMatchObject({ code: 2 });
  // The compiled program, which alone knows the exit code of wrong usage.
  const words = [CLI, '--data', cell.folder.path, 'sign', 'lot file:L-1', '--meaning', 'reviewed', '--password-stdin'];
  expect(spawnSync(process.execPath, words, { input: `${PASSWORD}\n` }).status).toBe(2);
});
