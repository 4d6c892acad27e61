import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { stringify } from 'yaml';
import { BadInputError } from '../../src/base/errors.js';
import { balanceOf } from '../../src/dossier/unit-places.js';
import { placesOfImplants, placesOfLot } from '../../src/lots/unit-places.js';
import { createApplication } from '../../src/main.js';
import { balanceText } from '../../src/report/phrases/places.js';
import { currentLot } from '../../src/store/lots-now.js';
import { temporaryFolder } from '../support/cell.js';
import { type Asking, askingAs, sendForm } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';

/**
 * Everything that is told of a unit once it was released, by both doors: one implant of the lot by documents in a folder, the
 * other by the forms of the pages. What cannot be is refused at either, with the same words, and nothing of it is stored.
 */
let cell: SigningCell;
let app: NestExpressApplication;
let operator: Asking;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  app = await createApplication(cell.services.store);
  operator = await askingAs(app, 'P-OP');
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

type Door = 'folder' | 'form';
const DOORS: readonly Door[] = ['folder', 'form'];
/** Which implant, coupon and codes a door has. */
const OWN = {
  folder: { unit: 'L-1-I1', coupon: 'L-1-W1', no: 'A' },
  form: { unit: 'L-1-I2', coupon: 'L-1-W2', no: 'B' },
} as const;
type Own = (typeof OWN)[Door];
interface Document {
  readonly kind: string;
  readonly [field: string]: unknown;
}

const folder = temporaryFolder('after-release');

/** What stands against a document; nothing when it was stored. */
async function through(door: Door, document: Document): Promise<string | undefined> {
  return door === 'folder' ? inFolder(document) : onForm(document);
}

async function inFolder(document: Document): Promise<string | undefined> {
  const own = fs.mkdtempSync(path.join(folder, 'in-'));
  fs.writeFileSync(path.join(own, `${document.kind}.yaml`), stringify({ format: 1, ...document }));
  try {
    await cell.services.intake.run(own, 'local:tester');
    return undefined;
  } catch (error) {
    if (!(error instanceof BadInputError)) throw error;
    return error.problems.map(({ field, found, expected }) => `${field}: ${found} ${expected}`).join('\n');
  }
}

async function onForm({ kind, ...fields }: Document): Promise<string | undefined> {
  const address = /<form method="post" action="(\/enter\/[^"]+)"/.exec(
    (await operator.get(`/enter/${kind}`)).text,
  )![1]!;
  const sending = operator.post(address).field(':do', 'check');
  for (const [name, value] of namesIn(fields)) sending.field(name, value);
  const checked = await sending;
  if (checked.status === 400) return /<div class="summary"[\s\S]*?<\/div>/.exec(checked.text)?.[0] ?? '';
  expect([kind, checked.status, checked.headers.location]).toEqual([kind, 303, `${address}/check`]);
  const stored = await sendForm(operator, `${address}/store`);
  expect([kind, stored.status]).toEqual([kind, 303]);
  return undefined;
}

/** Names of the fields of a form: places in the document. */
function namesIn(value: unknown, place = ''): [name: string, value: string][] {
  if (Array.isArray(value)) return value.flatMap((item, index) => namesIn(item, `${place}[${index}]`));
  if (typeof value !== 'object' || value === null) return [[place, String(value)]];
  return Object.entries(value).flatMap(([name, inner]) => namesIn(inner, place === '' ? name : `${place}.${name}`));
}

const TO = { institution: 'Invented Hospital', address: 'Invented Street 2' };
const handover = ({ unit, no }: Own, more: object = {}): Document => ({
  ...{ kind: 'handover', handover: `HO-1${no}`, implants: [unit], to: TO, at: '2031-03-10T10:00:00+01:00', by: 'P-OP' },
  ...more,
});
const outcome = ({ unit, no }: Own, more: object = {}): Document => ({
  ...{ kind: 'outcome', implant: unit, n: '1', what: 'not used', on: '2031-03-12', handover: `HO-1${no}` },
  ...{ reportedBy: 'theatre', ...more },
});
const back = ({ unit, no }: Own, more: object = {}): Document => ({
  ...{ kind: 'unit-return', return: `RT-1${no}`, implants: [unit], from: 'Invented Hospital', why: 'not used' },
  ...{ condition: 'pack whole', at: '2031-03-20T10:00:00+01:00', by: 'P-OP', ...more },
});
const evaluated = { law: 'EU', reportable: 'yes', why: 'invented', by: 'P-QE', at: '2031-06-10T11:00:00+02:00' };
const clock = { clockStart: '2031-06-10T10:00:00+02:00', due: '2031-06-25T10:00:00+02:00' };
const complaint = ({ unit, no }: Own, first: object = {}, more: object = {}): Document => ({
  ...{ kind: 'complaint', complaint: `CP-1${no}`, implants: [unit], says: 'the seam of the pack was weak' },
  received: { at: '2031-06-10T10:00:00+02:00', by: 'P-QE', from: 'Invented Hospital' },
  evaluated: [{ ...evaluated, ...clock, ...first }],
  ...more,
});
const disposal = ({ unit, coupon, no }: Own, more: object = {}): Document => ({
  ...{ kind: 'disposal', disposal: `DI-1${no}`, implants: [unit], coupons: [coupon] },
  ...{ powder: [{ state: 'PS-1', massG: '2.5' }], how: 'dissolved (invented)' },
  ...{ at: '2031-06-18T10:00:00+02:00', by: 'P-OP', witness: 'P-QE', ...more },
});

const HO_2 = { at: '2031-06-14T10:00:00+02:00' };
const second = ({ no }: Own) => ({ handover: `HO-2${no}` });

type Step = readonly [
  what: string,
  document: (own: Own) => Document,
  refused?: string | Readonly<Record<Door, string>>,
];

/** In the order of time; where nothing stands against one it is stored, and the next rests on it. */
const BEFORE_RELEASE: readonly Step[] = [
  ['a handover of what is not released', (own) => handover(own), 'released for distribution when it left'],
  [
    'a unit taken away unreleased, by nobody',
    (own) => handover(own, { unreleased: { why: 'invented', nonconformity: 'NC-9' } }),
    { folder: 'unreleased.authority: nothing', form: '#unreleased-authority' },
  ],
];
const ONCE_RELEASED: readonly Step[] = [
  ['an outcome before its handover is on record', (own) => outcome(own), { folder: 'HO-1', form: 'HO-1' }],
  ['a return of what never left', (own) => back(own), 'a unit that was away then'],
  ['a handover', (own) => handover(own)],
  ['a unit in two places', (own) => handover(own, second(own)), 'a part that was with the cell then'],
  ['an outcome before its handover', (own) => outcome(own, { on: '2031-03-09' }), 'a day not before it'],
  ['what was found on no explant', (own) => outcome(own, { found: 'invented' }), 'on a unit that was explanted'],
  ['an explant that was never implanted', (own) => outcome(own, { what: 'explanted' }), 'implanted before'],
  ['destroyed while it is out', (own) => disposal(own), 'a part that was with the cell then'],
  [
    'a word of the patient',
    (own) => outcome(own, { patientName: 'invented' }),
    { folder: 'no field that identifies a patient', form: 'patientName: found a field that this form does not have' },
  ],
  ['an outcome', (own) => outcome(own)],
  ['a return', (own) => back(own)],
  ['a return of what is back already', (own) => back(own, { return: 'RT-9' }), 'a unit that was away then'],
];
const ON_HOLD: readonly Step[] = [
  [
    'a handover on hold',
    (own) => handover(own, { ...second(own), at: '2031-06-04T10:00:00Z' }),
    'not on hold when it left',
  ],
];
const ONCE_LIFTED: readonly Step[] = [
  ['a second handover', (own) => handover(own, { ...second(own), ...HO_2 })],
  [
    'an outcome under the handover before the last',
    (own) => outcome(own, { n: '2', what: 'implanted', on: '2031-06-15' }),
    'the handover with which it left last',
  ],
  ['an implanted unit', (own) => outcome(own, { ...second(own), n: '2', what: 'implanted', on: '2031-06-15' })],
  ['a return out of a patient', (own) => back(own, { return: 'RT-9', at: '2031-06-16T10:00:00Z' }), 'not in a patient'],
  [
    'an explant with what was found',
    (own) => outcome(own, { ...second(own), n: '3', what: 'explanted', on: '2031-06-16', found: 'a crack (invented)' }),
  ],
  [
    'a report that is due too late',
    (own) => complaint(own, { due: '2031-06-26T10:00:00+02:00' }),
    'leaves 15 calendar days',
  ],
  ['a clock of what need not be reported', (own) => complaint(own, { reportable: 'no' }), 'need not be reported'],
  [
    'a report under a law that asks for none',
    (own) => complaint(own, {}, { reports: [{ law: 'US', number: 'INV', at: '2031-06-12T10:00:00+02:00' }] }),
    'evaluated as reportable',
  ],
  ['a complaint', (own) => complaint(own, {}, { nonconformity: `NC-1${own.no}` })],
  ['the explant, sent back', (own) => back(own, { return: `RT-2${own.no}`, at: '2031-06-17T10:00:00Z' })],
  [
    'seen by whoever destroyed it',
    (own) => disposal(own, { witness: 'P-OP' }),
    'another person than the one who did it',
  ],
  [
    'more powder destroyed than there was',
    (own) => disposal(own, { powder: [{ state: 'PS-1', massG: '1000000' }] }),
    'powder state PS-1',
  ],
  ['destruction, with coupon and powder', (own) => disposal(own)],
  [
    'destroyed twice',
    (own) => disposal(own, { disposal: 'DI-9', powder: undefined, coupons: undefined }),
    'with the cell then',
  ],
];

async function play(steps: readonly Step[]): Promise<void> {
  const wrong: unknown[] = [];
  const { ledger } = cell.services.store.read;
  for (const [what, document, refused] of steps) {
    for (const door of DOORS) {
      const before = await ledger.size();
      const said = await through(door, document(OWN[door]));
      const expected = typeof refused === 'object' ? refused[door] : refused;
      const isRight = expected === undefined ? said === undefined : said?.includes(expected);
      const isKept = (await ledger.size()) > before;
      if (!isRight || isKept !== (expected === undefined)) wrong.push({ what, door, said, isKept });
    }
  }
  expect(wrong).toEqual([]);
}

const places = async () =>
  (await placesOfImplants(cell.services.store.read, ['L-1-I1', 'L-1-I2'])).map(({ place, held }) => [place, held]);

it('is taken in from a folder and from a form alike, and refused alike, from the release to the destruction', async () => {
  const { stateActs } = cell.services;
  const onUnits = async (act: 'placeHold' | 'liftHold', at: string) => {
    cell.folder.advanceTo(at);
    await stateActs[act](await cell.prove('P-QE'), 'L-1', ['L-1-I1', 'L-1-I2'], 'invented');
  };
  await play(BEFORE_RELEASE);
  await cell.release('L-1', ['L-1-I1', 'L-1-I2']);
  cell.folder.advanceTo('2031-06-01T12:00:00Z');
  await play(ONCE_RELEASED);
  expect(await places()).toEqual(DOORS.map(() => ['returned', true]));
  await onUnits('liftHold', '2031-06-02T12:00:00Z');
  expect(await places()).toEqual(DOORS.map(() => ['in stock', false]));
  await onUnits('placeHold', '2031-06-03T12:00:00Z');
  cell.folder.advanceTo('2031-06-05T12:00:00Z');
  await play(ON_HOLD);
  await onUnits('liftHold', '2031-06-06T12:00:00Z');
  cell.folder.advanceTo('2031-06-20T12:00:00Z');
  await play(ONCE_LIFTED);
  const { read } = cell.services.store;
  for (const { unit, no } of Object.values(OWN)) {
    const { body } = await read.entries.currentOrThrow('nonconformity', `NC-1${no}`);
    expect(body).toMatchObject({
      ...{ opened: { by: 'P-QE', at: '2031-06-10T10:00:00+02:00' }, says: expect.stringContaining('weak') },
      ...{ from: [{ kind: 'complaint', key: `CP-1${no}` }], touches: [{ kind: 'implant', key: unit }] },
    });
  }
  const coupons = (await placesOfLot(read, await currentLot(read, 'L-1'))).filter(({ kind }) => kind === 'coupon');
  expect(coupons.map(({ key, place, by }) => [key, place, by?.key])).toEqual(
    DOORS.map((door) => [OWN[door].coupon, 'destroyed', `DI-1${OWN[door].no}`]),
  );
  const placed = await placesOfImplants(cell.services.store.read, ['L-1-I1', 'L-1-I2']);
  expect(placed.map(({ course }) => course.faults)).toEqual([[], []]);
  const counted = placed.map(({ key, place }) => ({ key, place, contradicted: false }));
  expect(balanceText(balanceOf(counted))).toBe('2 made = 2 destroyed; unaccounted 0');
});
