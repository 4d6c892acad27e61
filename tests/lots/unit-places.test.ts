import { execFileSync } from 'node:child_process';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { lotPlacesView } from '../../src/desk/lot-places-view.js';
import { placesOfAllLots, placesOfLot } from '../../src/lots/unit-places.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell } from '../support/cell.js';
import { SigningCell } from '../support/signing-cell.js';

/** One lot of two implants, taken in on 2031-03-05; the first is released. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-06-01T12:00:00Z');
});
afterAll(() => cell.close());

const HANDOVER = {
  kind: 'handover',
  format: 1,
  handover: 'HO-1',
  implants: ['L-1-I1'],
  to: { institution: 'Invented Hospital', address: 'Invented Street 2' },
  at: '2031-03-10T10:00:00Z',
  by: 'P-OP',
};
const OUTCOME = {
  ...{ kind: 'outcome', format: 1, implant: 'L-1-I1', n: 1, what: 'not used', on: '2031-03-12', handover: 'HO-1' },
  reportedBy: 'theatre',
};
const RETURN = {
  ...{ kind: 'unit-return', format: 1, return: 'RT-1', implants: ['L-1-I1'], from: 'Invented Hospital' },
  ...{ why: 'not used', condition: 'pack whole', at: '2031-03-20T10:00:00Z', by: 'P-OP' },
};
const NONCONFORMITY = {
  ...{ kind: 'nonconformity', format: 1, nonconformity: 'NC-1', opened: { by: 'P-QE', at: '2031-03-10T10:00:00Z' } },
  ...{ says: 'taken away (invented)', touches: [{ kind: 'implant', key: 'L-1-I1' }] },
};
const COMPLAINT = {
  ...{ kind: 'complaint', format: 1, complaint: 'CP-1', implants: ['L-1-I1'], says: 'a weak seam (invented)' },
  ...{ received: { at: '2031-03-21T10:00:00Z', by: 'P-QE', from: 'Invented Hospital' }, nonconformity: 'NC-1' },
};
const UNRELEASED = { authority: 'an invented court', why: 'invented', nonconformity: 'NC-1' };

const IN_HOUSE = {
  ...makeCell().documents['site/family.yaml']!,
  ...{ revision: 2, route: 'in-house', manufacturer: { name: 'Invented Cell', address: 'Invented Street 1' } },
  laws: [{ law: 'EU', route: 'in-house' }],
};

const take = (...documents: object[]) =>
  cell.services.intake.take(
    documents.map((document, index) => ({ file: `made-${index}.yaml`, document: { ...document } })),
    'local:tester',
  );
const refusal = async (...documents: object[]): Promise<Pick<Problem, 'code' | 'field'>[]> => {
  const before = await cell.services.store.read.ledger.size();
  const error = await take(...documents).then(
    () => undefined,
    (raised: unknown) => raised,
  );
  expect(await cell.services.store.read.ledger.size()).toBe(before);
  if (!(error instanceof BadInputError)) throw error;
  return error.problems.map(({ code, field = '' }) => ({ code, field }));
};
const lot = async () => (await cell.services.store.read.entries.currentOrThrow('lot', 'L-1')).body;
const places = async (moment?: string) => {
  const placed = await placesOfLot(cell.services.store.read, await lot(), moment);
  return Object.fromEntries(
    placed
      .filter(({ kind }) => kind === 'implant')
      .map(({ key, place, held }) => [key, held ? `${place}, held` : place]),
  );
};

it.each<[string, object[], Pick<Problem, 'code' | 'field'>]>([
  [
    'a handover of a unit that is not released',
    [{ ...HANDOVER, implants: ['L-1-I1', 'L-1-I2'] }],
    { code: 'unit-not-released', field: 'implants[1]' },
  ],
  [
    'a unit taken away unreleased that is released',
    [NONCONFORMITY, { ...HANDOVER, unreleased: UNRELEASED }],
    { code: 'unit-released', field: 'implants[0]' },
  ],
  [
    'a unit taken away unreleased whose nonconformity does not touch it',
    [NONCONFORMITY, { ...HANDOVER, implants: ['L-1-I2'], unreleased: UNRELEASED }],
    { code: 'nonconformity-without-unit', field: 'unreleased.nonconformity' },
  ],
  [
    'a complaint of a unit that its nonconformity does not touch',
    [NONCONFORMITY, { ...COMPLAINT, implants: ['L-1-I1', 'L-1-I2'] }],
    { code: 'nonconformity-without-unit', field: 'nonconformity' },
  ],
  [
    'a unit made in house that is handed over to another legal entity',
    [IN_HOUSE, HANDOVER],
    { code: 'another-legal-entity', field: 'implants[0]' },
  ],
])('refuses %s, and stores nothing', async (_, documents, expected) => {
  expect(await refusal(...documents)).toEqual([expected]);
});

it('tells where units are, now and before, and holds what came back', async () => {
  expect(await places()).toEqual({ 'L-1-I1': 'in stock', 'L-1-I2': 'in process' });
  await take(HANDOVER);
  expect(await places()).toEqual({ 'L-1-I1': 'out', 'L-1-I2': 'in process' });
  await take(OUTCOME, RETURN);
  expect(await places()).toEqual({ 'L-1-I1': 'returned, held', 'L-1-I2': 'in process' });
  expect(await places('2031-03-11T00:00:00Z')).toEqual({ 'L-1-I1': 'out', 'L-1-I2': 'in process' });
  expect(await refusal({ ...HANDOVER, handover: 'HO-2', at: '2031-06-01T11:00:00Z' })).toEqual([
    { code: 'unit-not-released', field: 'implants[0]' },
  ]);
});

it('takes in what was taken away unreleased, opens its nonconformity, and holds it', async () => {
  const { entries } = cell.services.store.read;
  const away = { ...HANDOVER, handover: 'HO-3', implants: ['L-1-I2'], unreleased: UNRELEASED };
  const { documents } = await take(away);
  expect(documents.map(({ kind, key }) => `${kind} ${key}`)).toEqual(['nonconformity NC-1', 'handover HO-3']);
  const { body } = await entries.currentOrThrow('nonconformity', 'NC-1');
  expect(body).toMatchObject({
    ...{ opened: { by: 'P-OP', at: HANDOVER.at }, sort: 'handling', touches: [{ kind: 'implant', key: 'L-1-I2' }] },
    says: 'Taken away unreleased. Who took it and why stands in handover HO-3.',
  });
  expect(body.closure).toBeUndefined();
  // Who it was may be a person by name, and lots carry a nonconformity whole.
  expect(JSON.stringify(body)).not.toContain(UNRELEASED.authority);
  await take({ ...away, reason: 'told again (invented)', condition: 'packs whole' });
  expect((await entries.revisions('nonconformity', 'NC-1')).map(({ revision }) => revision)).toEqual([1]);
  expect(await places()).toEqual({ 'L-1-I1': 'returned, held', 'L-1-I2': 'taken away unreleased, held' });
  expect(await placesOfAllLots(cell.services.store.read)).toEqual(
    await placesOfLot(cell.services.store.read, await lot()),
  );
});

it('opens a nonconformity from complaints of any length, and says as much of them as one text holds', async () => {
  const { entries } = cell.services.store.read;
  const says = 'a'.repeat(3983);
  const long = { ...COMPLAINT, nonconformity: 'NC-2', says: `${says}𐐀.` };
  await take(long, { ...long, complaint: 'CP-2' });
  const { body } = await entries.currentOrThrow('nonconformity', 'NC-2');
  expect(body.says).toBe(`Complaint CP-1: ${says}…`);
  expect(body.from?.map(({ key }) => key)).toEqual(['CP-1', 'CP-2']);
});

it('stands on the page of the lot, with the count', async () => {
  const { balance, moved } = lotPlacesView(await placesOfLot(cell.services.store.read, await lot()));
  expect(balance).toBe('2 made = 1 handed over (1 returned) + 1 taken away unreleased; unaccounted 0');
  expect(moved.map(({ serial, place, by }) => [serial, place, by])).toEqual([
    ['L-1-I1', 'returned, on hold', 'return of units RT-1'],
    ['L-1-I2', 'taken away unreleased, on hold', 'handover HO-3'],
  ]);
});

it('stands in the record, with the count', async () => {
  const { file } = await cell.services.issuer.issue('L-1', 'local:tester');
  const text = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }).replace(/\s+/g, ' ');
  expect(text).toContain('2 made = 1 handed over (1 returned) + 1 taken away unreleased; unaccounted 0.');
  expect(text).toMatch(/L-1-I2 taken away unreleased, on( hold)? 2031-03-10 10:00 UTC Invented Hospital/);
  expect((await verifyRecord(file)).answer).toBe('issuer not compared');
});
