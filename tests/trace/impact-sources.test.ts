import { digestOfResults, restingOn } from '../../src/dossier/impact-results.js';
import { impactsOn } from '../../src/store/impacts-on.js';
import type { ImpactAsked } from '../../src/trace/impact.js';
import { impactDocument } from '../../src/trace/impact-document.js';
import { addLot, type Cell } from '../support/cell.js';
import { addExposures } from '../support/documents/exposures.js';
import { assessAsEarlier, failByCounts } from '../support/earlier-version.js';
import { SigningCell } from '../support/signing-cell.js';

/**
 * Two lots of two implants, of which all conform. L-1 was built on 3 March, L-2 on the day after of another receipt; the coupons
 * of each lay in a batch of medium of their own, and those of L-1 were weighed with a balance beside the gauge that results name.
 * The tensile coupons of L-2 were tested on a morning of their own, and one load cleaned its first implant and coupon. L-1-I1 was
 * handed over.
 */
let cell: SigningCell;

const SHEETS = ['lots/L-1/exposures/immersion.csv', 'lots/L-2/exposures/immersion.csv'] as const;

function twoLots(made: Cell): void {
  const { documents, sheets } = made;
  addLot(made, 'L-2', 102, '2031-03-04', { rm: 230, thickness: 1.5 });
  addExposures(made);
  const [first, second] = SHEETS;
  sheets[second] = sheets[first]!.map((row) => ({
    ...row,
    ...{ specimen: row.specimen!.replace('L-1', 'L-2'), batch: 'SBF-31-02' },
  }));
  for (const row of sheets[first]!) row.instruments = 'I-MIC I-BAL';
  for (const row of sheets['lots/L-2/results/tensile.csv']!) row.measuredAt = '2031-03-05T08:00:00+01:00';
  const again = (path: string, from: string, changes: object) => {
    documents[path] = { ...structuredClone(documents[from]!), ...changes };
  };
  again('site/instruments/balance.yaml', 'site/instruments/gauge.yaml', { instrument: 'I-BAL', title: 'Balance' });
  again('site/degradation/batch-2.yaml', 'site/degradation/batch.yaml', { consumable: 'SBF-31-02' });
  again('site/receipt-2.yaml', 'site/receipt.yaml', { receipt: 'R-2', supplierLot: 'PL-78' });
  again('site/powder-2.yaml', 'site/powder.yaml', { state: 'PS-2', inputs: [{ receipt: 'R-2', massG: '1000' }] });
  const lot = documents['lots/L-2/lot.yaml']!;
  lot.builds[0].powder = [{ state: 'PS-2', chargedG: '180' }];
  const clean = { step: 'clean', at: '2031-03-05T09:30:00+01:00', by: 'P-OP' };
  lot.steps = [
    { ...clean, parts: ['L-2-I1', 'L-2-W1'], load: 'CL-2' },
    { ...clean, parts: ['L-2-I2', 'L-2-W2'] },
    { step: 'pack', at: '2031-03-05T11:00:00+01:00', by: 'P-OP' },
  ];
  const inspected = { sample: 2, by: 'P-OP', at: '2031-03-05T11:30:00+01:00' };
  lot.labels = { printed: 2, used: 2, destroyed: 0, inspected };
  documents['loads/CL-2.yaml'] = {
    ...{ kind: 'process-load', format: 1, load: 'CL-2', step: 'clean', equipment: 'M1', by: 'P-OP' },
    ...{
      startedAt: '2031-03-05T09:00:00+01:00',
      at: '2031-03-05T09:30:00+01:00',
      cycle: [{ parameter: 'time in the bath', value: '2', ucum: 'min' }],
    },
    ...{ implants: ['L-2-I1'], coupons: ['L-2-W1'] },
  };
}

beforeAll(async () => {
  const held: Cell['sheets'] = {};
  cell = await SigningCell.open((made) => {
    twoLots(made);
    for (const sheet of SHEETS) {
      held[sheet] = made.sheets[sheet]!;
      delete made.sheets[sheet];
    }
  });
  cell.folder.advanceTo('2031-09-01T12:00:00Z');
  Object.assign(cell.cell.sheets, held);
  await cell.intake();
  for (const lot of ['L-1', 'L-2']) await cell.services.assessor.assess(lot, 'local:tester');
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-09-02T12:00:00Z');
  const handover = {
    ...{ kind: 'handover', format: 1, handover: 'HO-1', implants: ['L-1-I1'], by: 'P-OP' },
    ...{ to: { institution: 'Invented Hospital', address: 'Invented Street 2' }, at: '2031-09-02T10:00:00Z' },
  };
  await cell.services.intake.take([{ file: 'made.yaml', document: handover }], 'local:tester');
});
afterAll(() => cell.close());

const [UNDECIDED, FAILS] = ['cannot be decided', 'does not conform'];
const [OUT, INSIDE] = [
  ['with the institution', 'Invented Hospital, Invented Street 2'],
  ['in process', 'the cell'],
] as const;
const rows = (characteristic: string, ...specimens: string[]) => specimens.map((one) => `${one} ${characteristic}`);
const RATES_1 = ['L-1-W1/A rate', 'L-1-W2/A rate'];
const RATES_2 = ['L-2-W1/A rate', 'L-2-W2/A rate'];
const TENSILE_2 = [...rows('rm', 'L-2-W1', 'L-2-W1', 'L-2-W2', 'L-2-W2')];
const THICKNESS = rows('thickness', 'L-1-I1', 'L-1-I2', 'L-2-I1', 'L-2-I2');
const ALL_2 = [...TENSILE_2, ...RATES_2, ...rows('thickness', 'L-2-I1', 'L-2-I2')];

interface Source {
  readonly what: string;
  readonly id: string;
  readonly asked: Partial<ImpactAsked>;
  readonly results: readonly string[];
  /** Serial, verdict once assessed again, where it is, with whom; all of them conform as they stand. */
  readonly units: readonly (readonly [string, string, readonly [string, string]])[];
  readonly builds?: readonly string[];
  readonly powder?: readonly string[];
}

const WITHOUT = { without: true };
/** Tests came on the day after: what counts is when the powder, the recipe or the load was used. */
const DAY_OF_L2 = { from: '2031-03-04T00:00:00Z', to: '2031-03-04T20:00:00Z' };

const SOURCES: readonly Source[] = [
  {
    what: 'an instrument beside the one that results name',
    id: 'I-BAL',
    asked: { ...WITHOUT, from: '2031-01-15T07:00:00Z', to: '2031-06-30T08:00:00Z' },
    results: RATES_1,
    units: [
      ['L-1-I1', UNDECIDED, OUT],
      ['L-1-I2', UNDECIDED, INSIDE],
    ],
  },
  {
    what: 'a bias that only one value is too near its limit for',
    id: 'SBF-31-02',
    asked: { bias: { value: '-0.07', ucum: 'mm/a' } },
    results: RATES_2,
    units: [
      ['L-2-I1', 'conforms', INSIDE],
      ['L-2-I2', FAILS, INSIDE],
    ],
  },
  {
    what: 'a batch of medium',
    id: 'SBF-31-02',
    asked: WITHOUT,
    results: RATES_2,
    units: [
      ['L-2-I1', UNDECIDED, INSIDE],
      ['L-2-I2', UNDECIDED, INSIDE],
    ],
  },
  {
    what: 'a corrected certificate',
    id: 'receipt:R-2',
    asked: { ...WITHOUT, ...DAY_OF_L2 },
    results: ALL_2,
    units: [
      ['L-2-I1', UNDECIDED, INSIDE],
      ['L-2-I2', UNDECIDED, INSIDE],
    ],
    builds: ['M1-102'],
    powder: ['PS-2'],
  },
  {
    what: 'a qualification that had lapsed on one morning',
    id: 'P-AN',
    asked: { ...WITHOUT, from: '2031-03-05T00:00:00Z', to: '2031-03-05T07:30:00Z' },
    results: TENSILE_2,
    units: [
      ['L-2-I1', UNDECIDED, INSIDE],
      ['L-2-I2', UNDECIDED, INSIDE],
    ],
  },
  {
    what: 'a withdrawn recipe, from a day on',
    id: 'RC rev 2',
    asked: { ...WITHOUT, ...DAY_OF_L2 },
    results: ALL_2,
    units: [
      ['L-2-I1', UNDECIDED, INSIDE],
      ['L-2-I2', UNDECIDED, INSIDE],
    ],
    builds: ['M1-102'],
  },
  {
    what: 'a method that is less certain than was thought',
    id: 'method:TM-S',
    asked: { uncertainty: { value: '40', ucum: 'um' } },
    results: THICKNESS,
    units: [
      ['L-1-I1', UNDECIDED, OUT],
      ['L-1-I2', UNDECIDED, INSIDE],
      ['L-2-I1', UNDECIDED, INSIDE],
      ['L-2-I2', UNDECIDED, INSIDE],
    ],
  },
  {
    what: 'a load found bad',
    id: 'CL-2',
    asked: WITHOUT,
    results: [...rows('rm', 'L-2-W1', 'L-2-W1'), 'L-2-W1/A rate', 'L-2-I1 thickness'],
    units: [['L-2-I1', UNDECIDED, INSIDE]],
  },
];

const asIs = { from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: false };
const of = (id: string, asked: Partial<ImpactAsked> = {}) => cell.services.impacts.of({ ...asIs, id, ...asked });
const resultsOf = ({ results }: Awaited<ReturnType<typeof of>>) =>
  results.map(({ specimen, piece, characteristic }) => `${specimen}${piece && `/${piece}`} ${characteristic}`).sort();

it.each(SOURCES)('names what rests on $what, which units flip, and where they are', async (source) => {
  const { id, asked, results, units, builds = [], powder = [] } = source;
  const answer = await of(id, asked);
  expect(resultsOf(answer)).toEqual([...results].sort());
  expect(answer.results.every(({ revision }) => revision > 0)).toBe(true);
  expect(answer.units.map(({ serial, first, again, place, holder }) => [serial, first, again, place, holder])).toEqual(
    units.map(([serial, again, where]) => [serial, 'conforms', again, ...where]),
  );
  expect(answer.units.filter(({ flips }) => flips).map(({ serial }) => serial)).toEqual(
    units.filter(([, again]) => again !== 'conforms').map(([serial]) => serial),
  );
  expect(answer.builds.map(({ key }) => key)).toEqual(builds);
  expect(answer.powder.map(({ key }) => key)).toEqual(powder);
  expect((await of(id, { from: asked.from, to: asked.to })).units.filter(({ flips }) => flips)).toEqual([]);
});

it('touches nothing by a build or a test that lies outside the time', async () => {
  const before = { to: '2031-03-02T00:00:00Z' };
  for (const id of ['receipt:R-2', 'RC rev 2', 'P-AN', 'I-BAL', 'SBF-31-02']) {
    const { results, units, builds } = await of(id, { from: '2031-02-01T00:00:00Z', ...before });
    expect([id, results, units, builds]).toEqual([id, [], [], []]);
  }
});

it('names by digest of an instrument the results alone that a signed impact can clear', async () => {
  const time = { from: '2031-03-04T00:00:00Z', to: '2031-03-06T00:00:00Z' };
  const answer = await of('I-MIC', { ...WITHOUT, ...time });
  const found = { kind: 'instrument', key: 'I-MIC', ...time };
  for (const { lot, count, sha256 } of answer.lots) {
    const { rows: all } = await cell.services.store.read.results.ofLot(lot);
    const resting = restingOn(all, found);
    expect([count, sha256]).toEqual([resting.length, digestOfResults(resting)]);
  }
  expect(answer.lots.map(({ lot }) => lot)).toEqual(['L-1', 'L-2']);
  expect(resultsOf(answer).length).toBeGreaterThan(answer.lots.reduce((sum, { count }) => sum + count, 0));
});

it('names studies and statements that rest on an instrument beside the first of an exposure, and statements in another form', async () => {
  const { read } = cell.services.store;
  const body = {
    ...{ impact: 'IM-9', cause: { kind: 'instrument', key: 'I-BAL' }, conclusion: 'invented', lots: ['L-1', 'L-2'] },
    ...{ from: '2031-01-15T07:00:00Z', to: '2031-12-31T08:00:00Z' },
  };
  const tied = vi.spyOn(read.entries, 'tiedToAny').mockResolvedValue([{ body }] as never);
  const stated = vi.spyOn(read.capabilityStatements, 'of');
  try {
    const on = (characteristic: string) => impactsOn(read, characteristic, new Set(['L-1', 'L-2']));
    expect((await on('rate')).map(({ impact, lots }) => [impact, lots])).toEqual([['IM-9', ['L-1']]]);
    expect(await on('rm')).toEqual([]);
    // Weighed before and after: the time of the first weighing alone touches what was computed after the second.
    const [first] = await read.entries.list('exposure');
    Object.assign(body, { from: '2031-01-15T07:00:00Z', to: first!.body.from });
    expect((await on('rate')).map(({ lots }) => lots)).toEqual([['L-1']]);
    Object.assign(body, { to: new Date(Date.parse(first!.body.from) - 1).toISOString() });
    expect(await on('rate')).toEqual([]);
    stated.mockResolvedValue([{ number: 'CS-7', body: '{"format":0,"lots":["L-1"]}' }] as never);
    expect((await of('I-BAL', WITHOUT)).capability).toEqual([expect.stringContaining('CS-7')]);
    stated.mockResolvedValue([{ number: 'CS-7', body: '{"format":0,"lots":["L-11"]}' }] as never);
    expect((await of('I-BAL', WITHOUT)).capability).toEqual([]);
  } finally {
    tied.mockRestore();
    stated.mockRestore();
  }
});

it('refuses an identifier of two things, and names both', async () => {
  await expect(of('run.csv')).rejects.toThrow('lot:L-1 or lot:L-2');
});

it('says of a program with a known fault what the rules of this one say of the same lot files', async () => {
  const program = 'Lotwright of an earlier day';
  await assessAsEarlier(cell.services, 'L-1', failByCounts);
  const answer = await of(program);
  expect(answer.cause).toMatchObject({ kind: 'program-version', title: 'program version', key: program });
  expect(answer.units.map(({ serial, first, again, flips, place }) => [serial, first, again, flips, place])).toEqual([
    ['L-1-I1', FAILS, 'conforms', true, OUT[0]],
    ['L-1-I2', 'conforms', 'conforms', false, INSIDE[0]],
  ]);
  expect(resultsOf(answer)).toHaveLength(8);
  const { assessments } = cell.services.store.read;
  const read = vi.spyOn(assessments, 'byDigest').mockResolvedValue({ body: '{}' } as never);
  try {
    const unread = await of(program);
    expect(unread.notRead).toEqual([{ lot: 'L-1', why: expect.stringContaining('what was said of it') }]);
    expect(unread.units.map(({ serial, first, again }) => [serial, first, again])).toEqual(
      ['L-1-I1', 'L-1-I2'].map((serial) => [serial, UNDECIDED, UNDECIDED]),
    );
    const { decisions } = impactDocument(unread, { code: 'IM-8' });
    expect(decisions).toEqual(['L-1-I1', 'L-1-I2'].map((implant) => ({ implant, as: 'hold' })));
  } finally {
    read.mockRestore();
  }
  const later = await of(program, { from: '2031-09-03T00:00:00Z', to: '2031-09-04T00:00:00Z' });
  expect([later.units, later.results]).toEqual([[], []]);
});

it('counts what came in since the last lot file', async () => {
  const sheet = 'lots/L-2/results/tensile.csv';
  const [first] = cell.cell.sheets[sheet]!;
  const rigs = resultsOf(await of('I-RIG', WITHOUT)).length;
  Object.assign(cell.cell.sheets, { 'lots/L-2/results/later.csv': [{ ...first!, replicate: '9' }] });
  await cell.intake();
  expect(resultsOf(await of('I-RIG', WITHOUT))).toHaveLength(rigs + 1);
});

// The last: what it records has no whole body.
it('names the studies of the design that were made on specimens which it touches, and no others', async () => {
  const { store } = cell.services;
  const study = (key: string, coupon: string) => ({
    ...{ kind: 'design-study', key, name: `strength of ${coupon}`, body: { designStudy: key } },
    links: [{ name: 'tested on' as const, to: { kind: 'coupon', key: coupon } }],
  });
  await store.change('local:tester', async (change) => {
    await change.entries.add(study('DS-1', 'L-1-W1'));
    await change.entries.add(study('DS-2', 'L-2-W1'));
  });
  const claimsOf = async (...asked: Parameters<typeof of>) =>
    (await of(...asked)).claims.map(({ title, key, name, revision }) => [title, key, name, revision]);
  const [first, second] = ['1', '2'].map((no) => ['design study', `DS-${no}`, `strength of L-${no}-W1`, 1]);
  expect(await claimsOf('receipt:R-2', DAY_OF_L2)).toEqual([second]);
  expect(await claimsOf('I-BAL', { from: '2031-01-15T07:00:00Z', to: '2031-06-30T08:00:00Z' })).toEqual([first]);
  expect((await claimsOf('method:TM-S')).length).toBe(0);
});
