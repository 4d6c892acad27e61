import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { makeTestPeople, PASSWORD, provedActs } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { openServices } from '../support/services.js';

const data = path.join(temporaryFolder('custody-commands'), 'data');
const LETTER = 'an invented letter';

beforeAll(async () => {
  const cell = makeCellWithHistory(1);
  cell.documents['lots/L-1/lot.yaml']!.attachments = [{ file: 'letter.txt', title: 'letter' }];
  cell.files['lots/L-1/letter.txt'] = LETTER;
  const services = await openServices(data);
  await services.intake.run(writeCell(cell), 'local:tester');
  await makeTestPeople(services);
  await provedActs(services).giveRole('P-AD', 'P-RE', 'regulatory');
  await services.store.close();
});

/** Runs a command with `--json`, with passwords on standard input. */
async function lotwright(words: string[], ...passwords: string[]) {
  const input = passwords.map((password) => `${password}\n`).join('');
  const { code, text } = await runCommand(data, ['--json', ...words], input);
  return { code, answer: JSON.parse(text) as Record<string, unknown> };
}

it('places a legal hold, tells of it in the retention, and lifts it', async () => {
  const hold = (act: string, person: string) =>
    lotwright(['legal-hold', act, 'L-1', '--person', person, '--reason', 'a question', '--password-stdin'], PASSWORD);
  expect(await hold('place', 'P-QE')).toMatchObject({ code: 0, answer: { lot: 'L-1', legalHold: true } });
  expect(await lotwright(['retention', 'L-1'])).toMatchObject({ code: 0, answer: { until: null, rule: 'legal hold' } });
  expect(await hold('lift', 'P-RE')).toMatchObject({ code: 0, answer: { legalHold: false } });
});

it('removes the bytes of evidence with the passwords of two people, one a line', async () => {
  const letter = sha256Hex(LETTER);
  const words = ['redact', letter, '--person', 'P-QE', '--second', 'P-RE', '--reason', 'it names a patient'];
  const wrong = await lotwright([...words, '--password-stdin'], PASSWORD, 'not the password of Rita');
  expect(wrong).toMatchObject({ code: 5, answer: { error: { code: 'REFUSED' } } });
  const file = path.join(data, 'evidence', letter.slice(0, 2), letter);
  expect(fs.readFileSync(file, 'utf8')).toBe(LETTER);
  const done = await lotwright([...words, '--password-stdin'], PASSWORD, PASSWORD);
  expect(done).toMatchObject({ code: 0, answer: { sha256: letter, persons: ['P-QE', 'P-RE'] } });
  expect(fs.existsSync(file)).toBe(false);
  expect(await lotwright(['check'])).toMatchObject({ code: 0, answer: { faults: [] } });
});

it('lists the keys and replaces the one in use', async () => {
  const { inUse } = (await lotwright(['keys', 'list'])).answer;
  const { answer } = await lotwright(['keys', 'rotate', '--reason', 'yearly change']);
  expect(answer).toMatchObject({ replaced: inUse });
  expect((await lotwright(['keys', 'list'])).answer).toMatchObject({ inUse: answer.fingerprint, keys: [{}, {}] });
});

it('prints what to keep of keys and audit trail, and puts another key and anchor in the place of lost ones by two people', async () => {
  const keys = path.join(data, 'keys');
  const { answer: printed } = await lotwright(['keys', 'anchor']);
  const { answer: known } = await lotwright(['keys', 'list']);
  expect(printed).toMatchObject({
    firstKey: (known.keys as { fingerprint: string }[])[0]!.fingerprint,
    inUse: known.inUse,
  });
  expect(await lotwright(['ledger', 'verify', '--head', printed.head as string])).toMatchObject({ code: 0 });

  const two = (reason: string) => ['--person', 'P-AD', '--second', 'P-QE', '--reason', reason, '--password-stdin'];
  fs.rmSync(path.join(keys, 'installation.pem'));
  expect(await lotwright(['check'])).toMatchObject({ code: 6, answer: { faults: [{ name: 'this check' }] } });
  expect(await lotwright(['keys', 'rotate', '--reason', 'lost'])).toMatchObject({ code: 2 });
  const replaced = await lotwright(['keys', 'replace', ...two('the disk broke')], PASSWORD, PASSWORD);
  expect(replaced).toMatchObject({ code: 0, answer: { replaced: known.inUse, persons: ['P-AD', 'P-QE'] } });
  expect(await lotwright(['check'])).toMatchObject({ code: 0 });

  fs.rmSync(path.join(keys, 'anchor.txt'));
  expect(await lotwright(['keys', 'anchor'])).toMatchObject({ code: 6, answer: { error: { code: 'ALTERED' } } });
  expect(await lotwright(['keys', 'anchor', '--renew'])).toMatchObject({ code: 2 });
  const renewed = await lotwright(['keys', 'anchor', '--renew', ...two('the disk broke')], PASSWORD, PASSWORD);
  expect(renewed).toMatchObject({ code: 0, answer: { persons: ['P-AD', 'P-QE'] } });
  expect(await lotwright(['ledger', 'verify'])).toMatchObject({ code: 0 });
});

it('locks the key by a passphrase of some length', async () => {
  expect(await lotwright(['keys', 'lock', '--passphrase-stdin'], 'short')).toMatchObject({ code: 2 });
  expect(await lotwright(['keys', 'lock', '--passphrase-stdin'], 'four quiet lanterns')).toMatchObject({ code: 0 });
  // What reads goes on, and says that it could not be noted.
  expect(await runCommand(data, ['status'])).toMatchObject({
    code: 0,
    text: expect.stringMatching(/could not be noted/),
  });
  expect(await lotwright(['ledger', 'head'])).toMatchObject({ code: 2, answer: { error: { code: 'CONFLICT' } } });
});
