import fs from 'node:fs';
import path from 'node:path';
import { configureAuthority, dropHead, stampHead } from '../../src/custody/witnesses.js';
import { Enclosure } from '../../src/records/enclosure.js';
import { verifyText } from '../../src/report/phrases/verify.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { checkAnchor, checkWitness } from '../../src/verify/check-outside.js';
import { Steps } from '../../src/verify/report.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { ACTOR, cellWithRecord } from '../custody/folder.js';
import { temporaryFolder } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';
import { TimeAuthority } from '../support/time-authority.js';

// Not quick: OpenSSL plays the authority.

const authority = new TimeAuthority();
let services: Services;
let data: string;
let record: string;
let enclosure: Enclosure;

beforeAll(async () => {
  ({ services, data } = await cellWithRecord());
  configureAuthority(DataFolder.open(data), await authority.listen(), authority.root);
  await services.store.close();
  services = await openServices(data);
  const { store } = services;
  await dropHead(store, temporaryFolder('shelf'), await store.proofs.signedHead(), ACTOR);
  await stampHead(store, await store.proofs.signedHead(), ACTOR);
  await services.issuer.issue('L-1', ACTOR);
  const last = (await store.read.records.ofLot('L-1')).at(-1)!;
  record = store.folder.recordFile(last.number, last.revision);
  enclosure = Enclosure.parse(JSON.parse(last.enclosure));
});
afterAll(async () => {
  authority.close();
  await services.store.close();
});

const said = (look: (steps: Steps) => void): string[] => {
  const steps = new Steps();
  look(steps);
  return steps.list.map((step) => `${step.outcome}: ${verifyText(step)}`);
};
const witness = (change: object = {}, certificates?: string) =>
  said((steps) =>
    checkWitness(
      { ...enclosure, ledger: { ...enclosure.ledger, witnessed: { ...enclosure.ledger.witnessed!, ...change } } },
      certificates,
      steps,
    ),
  );
const anchor = (text: string, of: Enclosure = enclosure) => {
  const file = path.join(temporaryFolder('anchor'), 'anchor.txt');
  fs.writeFileSync(file, text);
  return said((steps) => checkAnchor(of, file, steps));
};
const anchored = () => fs.readFileSync(AnchorFile.beside(data).file, 'utf8');

it('the record carries the newest head of a witness and verifies with the anchor of its installation', async () => {
  const { steps, answer } = await verifyRecord(record, {
    anchor: AnchorFile.beside(data).file,
    authority: authority.root,
  });
  const told = Object.fromEntries(steps.map(({ step, outcome }) => [step, outcome]));
  expect([answer, told]).toMatchObject(['issuer not compared', { witness: 'holds', anchor: 'holds', pages: 'holds' }]);
});

it.each([
  [
    'as it was stamped, by an authority that is trusted',
    {},
    true,
    /^holds: .*Invented Authority stamped.*leads to one that you trust/,
  ],
  [
    'and tells who stamped it where nobody says whom to trust',
    {},
    false,
    /^holds: .*not compared with one that you trust/,
  ],
  ['of another root', { root: 'ab'.repeat(32) }, true, /did not only grow since the head/],
  ['of more entries than there are', { size: 10_000 }, true, /did not only grow/],
  ['with a stamp that was made up', { token: 'MAA=' }, true, /no time stamp/],
  ['left in a folder', { token: null }, true, /^holds: .*was left in/],
])('a witnessed head is told %s', (_what, change, isTrusted, expected) => {
  expect(witness(change, isTrusted ? authority.root : undefined)).toEqual([expect.stringMatching(expected)]);
});

it('a stamp of another authority than the one that is trusted does not hold', () => {
  expect(witness({}, new TimeAuthority().root)).toEqual([expect.stringMatching(/leads to none of those/)]);
  expect(() => witness({}, record)).toThrow(expect.objectContaining({ code: 'BAD_INPUT' }));
});

it('an anchor is compared by its first key and, where the record tells of it, by its head', () => {
  const [title, first, ...heads] = anchored().trimEnd().split('\n');
  const headOf = (size: number) => heads.find((line) => line.split(' ')[1] === String(size))!;
  const { size } = enclosure.ledger;
  expect(anchor(`${title}\n${first}\n${headOf(size)}\n`)).toEqual([
    expect.stringMatching(new RegExp(`^holds: .*has the head of ${size} entries that the anchor holds`)),
  ]);
  expect(anchor(`${title}\n${first}\n`)).toEqual([expect.stringMatching(/^holds: .*which holds no head/)]);
  expect(anchor(anchored())).toEqual([expect.stringMatching(/^holds: .*cannot be compared with it/)]);
  const other = { ...enclosure, ledger: { ...enclosure.ledger, root: 'ab'.repeat(32) } };
  expect(anchor(`${title}\n${first}\n${headOf(size)}\n`, other)).toEqual([expect.stringMatching(/another head/)]);
  expect(anchor(`${title}\nfirst-key ${'0'.repeat(64)}\n`)).toEqual([expect.stringMatching(/it is not the first key/)]);
  expect(() => anchor('nothing')).toThrow(expect.objectContaining({ code: 'BAD_INPUT' }));
});
