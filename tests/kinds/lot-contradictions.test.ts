import fc from 'fast-check';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { Lot } from '../../src/kinds/lot.js';
import { makeCell } from '../support/cell.js';
import type { Written } from './valid-documents.js';

const OPENED = '2031-03-03T08:02:00+01:00';
const BEFORE = '2031-03-03T07:30:00+01:00';
const AFTER = '2031-03-05T09:00:00+01:00';

const lot = (): Written => makeCell().documents['lots/L-1/lot.yaml']!;
const faultsOf = (document: Written) => {
  const kind = kindNamed('lot')!;
  return kind.contradictions(kind.schema.parse(document));
};

const build = (document: Written): Written => document.builds[0];
const charge = (document: Written, more: Written) => Object.assign(build(document).powder[0], more);
const fate = (part: string, more: Written = {}) => ({ part, as: 'tested', at: AFTER, by: 'P-AN', ...more });
const scan = (specimen: string, name: string, more: Written = {}) => ({
  specimen,
  scan: name,
  file: `scans/${name}.ply`,
  form: 'ply',
  ucum: 'mm',
  when: 'final',
  against: { what: 'design' },
  alignment: { how: 'as given' },
  instrument: 'I-MIC',
  by: 'P-AN',
  at: AFTER,
  ...more,
});
const tip = (more: Written = {}) => ({ consumable: 'TIP-7', step: 'peen', ...more });

/** Everything that a lot file may say beside what the cell says, once. */
function fullLot(): Written {
  const document = lot();
  Object.assign(build(document), {
    gas: [{ receipt: 'R-2', quantity: { value: '1.5', ucum: 'kg' } }],
    consumables: [tip({ zones: ['I1-span', 'W1-span'], uses: '40' }), tip({ zones: ['I2-span'] })],
    changeover: 'CO-1',
    lineClearance: { by: 'P-QE', at: BEFORE },
  });
  charge(document, { depositedG: '100.5', recoveredG: '60', recoveredInto: 'PS-2', wasteG: '19.5' });
  document.implants[0].builtOn = 'SP-1';
  document.steps = [
    { step: 'etch', at: AFTER, by: 'P-OP', load: 'ET-4', instruction: { instruction: 'RW-3', revision: '1' } },
  ];
  document.fates = [fate('L-1-W1', { evidence: 'photos/w1.png' })];
  document.labels = {
    printed: 3,
    used: 2,
    destroyed: 1,
    inspected: { sample: 2, by: 'P-QE', at: AFTER },
    read: ['(21)L-1-I1'],
  };
  document.scans = [
    scan('L-1-I1', 'S-0', { against: { what: 'stock part' }, when: 'before' }),
    scan('L-1-I1', 'S-1', { against: { what: 'scan', scan: 'S-0' }, alignment: { how: 'least squares' } }),
    scan('L-1-I2', 'S-1', { alignment: { how: 'least squares', matrix: Array(12).fill('0.5') } }),
  ];
  return document;
}

describe('a lot file that says everything', () => {
  const kind = kindNamed('lot')!;
  const body = kind.schema.parse(fullLot());
  const links = [...kind.links(body), ...kind.declares(body).flatMap((item) => item.links)];
  const tied = links.map(({ name, kind: to, key, massG, count, aside }) =>
    [name, to, key, massG === undefined ? '' : `${massG} g`, count ?? '', aside ? 'aside' : '']
      .filter(Boolean)
      .join(' '),
  );

  it('contradicts nothing, and is read again from what was read', () => {
    expect(faultsOf(fullLot())).toEqual([]);
    expect(Lot.parse(body)).toEqual(body);
  });

  it.each([
    'deposited powder-state PS-1 180 g',
    'recovered into powder-state PS-2 aside',
    'under gas receipt R-2 1500 g',
    'with consumable consumable TIP-7 40',
    'with consumable consumable TIP-7 1',
    'after changeover changeover CO-1',
    'cleared by person P-QE',
    'built on stock-part SP-1',
    'in load process-load ET-4',
    'by rework instruction rework-instruction RW-3',
    'fate recorded by person P-AN',
    'labels inspected by person P-QE',
    'scanned with instrument I-MIC',
    'scanned by person P-AN',
  ])('is tied: %s', (line) => {
    expect(tied).toContain(line);
  });

  it('names its scans and the evidence of fates as files', () => {
    const files = kind.files(body).map((file) => `${file.name} ${file.path}`);
    expect(files).toEqual(
      expect.arrayContaining(['attachment photos/w1.png', 'scan scans/S-0.ply', 'scan scans/S-1.ply']),
    );
  });
});

/** [what is done to the lot file, field of the fault, what it finds] */
const FAULTS: readonly (readonly [what: string, (document: Written) => void, field: string, found: string])[] = [
  [
    'more comes out than was charged',
    (d) => charge(d, { depositedG: '100', recoveredG: '60', wasteG: '20.001' }),
    'builds[0].powder[0].chargedG',
    '180.001 g',
  ],
  [
    'recovered into what it came from',
    (d) => charge(d, { recoveredG: '1', recoveredInto: 'PS-1' }),
    'builds[0].powder[0].recoveredInto',
    'PS-1',
  ],
  [
    'recovered into a state without a mass',
    (d) => charge(d, { recoveredInto: 'PS-2' }),
    'builds[0].powder[0].recoveredInto',
    'nothing recovered',
  ],
  [
    'a planned build that gave something',
    (d) => {
      build(d).state = 'planned';
      charge(d, { wasteG: '0' });
    },
    'builds[0].powder[0]',
    'only planned',
  ],
  [
    'a powder state twice',
    (d) => build(d).powder.push(build(d).powder[0]),
    'builds[0].powder[1].state',
    '"PS-1" a second time',
  ],
  [
    'a change of gas before the chamber closed',
    (d) => Object.assign(build(d), { gas: [{ receipt: 'R-2', from: '2031-01-01T00:00:00Z' }] }),
    'builds[0].gas[0].from',
    '2031-01-01',
  ],
  [
    'a change of gas after the chamber was opened',
    (d) => Object.assign(build(d), { gas: [{ receipt: 'R-2', from: '2031-12-31T00:00:00Z' }] }),
    'builds[0].openedAt',
    '2031-0',
  ],
  [
    'a gas twice',
    (d) => Object.assign(build(d), { gas: [{ receipt: 'R-2' }, { receipt: 'R-2' }] }),
    'builds[0].gas[1].receipt',
    '"R-2" a second time',
  ],
  [
    'one use twice',
    (d) => Object.assign(build(d), { consumables: [tip(), tip({ uses: 2 })] }),
    'builds[0].consumables[1].consumable',
    'TIP-7, peen',
  ],
  [
    'a zone that nobody built',
    (d) => Object.assign(build(d), { consumables: [tip({ zones: ['I1-span', 'I9-span'] })] }),
    'builds[0].consumables[0].zones[1]',
    'I9-span',
  ],
  [
    'a line cleared after the chamber was closed',
    (d) => Object.assign(build(d), { lineClearance: { by: 'P-QE', at: OPENED } }),
    'builds[0].closedAt',
    '08:00',
  ],
  [
    'two fates of a part',
    (d) => Object.assign(d, { fates: [fate('L-1-I1'), fate('L-1-I1', { as: 'retained' })] }),
    'fates[1].part',
    '"L-1-I1" a second time',
  ],
  ['a fate of nobody', (d) => Object.assign(d, { fates: [fate('L-1-I9')] }), 'fates[0].part', 'L-1-I9'],
  [
    'a fate before the part was there',
    (d) => Object.assign(d, { fates: [fate('L-1-W2', { at: BEFORE })] }),
    'fates[0].at',
    BEFORE,
  ],
  [
    'a fate of what is only planned',
    (d) => {
      build(d).state = 'planned';
      d.fates = [fate('L-1-W2')];
    },
    'fates[0].part',
    'only planned',
  ],
  [
    'more labels looked at than printed',
    (d) =>
      Object.assign(d, {
        labels: { printed: 2, used: 2, destroyed: 0, inspected: { sample: 3, by: 'P-QE', at: AFTER } },
      }),
    'labels.inspected.sample',
    '3',
  ],
  ['a scan of nobody', (d) => Object.assign(d, { scans: [scan('L-1-I9', 'S-1')] }), 'scans[0].specimen', 'L-1-I9'],
  [
    'a scan twice',
    (d) => Object.assign(d, { scans: [scan('L-1-I1', 'S-1'), scan('L-1-I1', 'S-1')] }),
    'scans[1].scan',
    'a second time',
  ],
  [
    'a coupon against a design',
    (d) => Object.assign(d, { scans: [scan('L-1-W1', 'S-1')] }),
    'scans[0].against',
    'L-1-W1',
  ],
  [
    'an implant against a stock part that it was not built on',
    (d) => Object.assign(d, { scans: [scan('L-1-I1', 'S-1', { against: { what: 'stock part' } })] }),
    'scans[0].against',
    'the stock part of L-1-I1',
  ],
  [
    'a scan against the scan of another part',
    (d) =>
      Object.assign(d, {
        scans: [scan('L-1-I2', 'S-0'), scan('L-1-I1', 'S-1', { against: { what: 'scan', scan: 'S-0' } })],
      }),
    'scans[1].against.scan',
    'S-0',
  ],
  [
    'a scan against itself',
    (d) => Object.assign(d, { scans: [scan('L-1-I1', 'S-1', { against: { what: 'scan', scan: 'S-1' } })] }),
    'scans[0].against.scan',
    'S-1',
  ],
  [
    'a scan against a later one',
    (d) =>
      Object.assign(d, {
        scans: [scan('L-1-I1', 'S-1', { at: BEFORE, against: { what: 'scan', scan: 'S-2' } }), scan('L-1-I1', 'S-2')],
      }),
    'scans[0].at',
    BEFORE,
  ],
];

describe('what one lot file cannot say', () => {
  it.each(FAULTS)('%s', (_, spoil, field, found) => {
    const document = lot();
    spoil(document);
    const faults = faultsOf(document);
    expect(faults).toContainEqual(expect.objectContaining({ field, found: expect.stringContaining(found) }));
    for (const { expected, remedy } of faults) expect(`${expected}; ${remedy}`).toMatch(/\S; \S/);
  });

  it('is, of a charge, exactly that more came out than was filled in, to the last digit', () => {
    const grams = fc.integer({ min: 0, max: 2000 });
    const text = (tenths: number) => `${Math.floor(tenths / 10)}.${tenths % 10}`;
    fc.assert(
      fc.property(grams, grams, grams, (deposited, recovered, waste) => {
        const document = lot();
        charge(document, { depositedG: text(deposited), recoveredG: text(recovered), wasteG: text(waste) });
        return faultsOf(document).length > 0 === deposited + recovered + waste > 1800;
      }),
    );
  });
});

describe('holds of a specification', () => {
  const kind = kindNamed('specification')!;
  const withHolds = (...holds: Written[]) =>
    kind.contradictions(kind.schema.parse({ ...makeCell().documents['site/specification.yaml'], holds }));

  it('are one for two steps, and never from a step to itself', () => {
    const hold = { from: 'build', to: 'clean', hours: '4' };
    expect(withHolds(hold, { ...hold, from: 'clean', to: 'dry' })).toEqual([]);
    expect(withHolds(hold, { ...hold, hours: '8' })).toMatchObject([{ field: 'holds[1]' }]);
    expect(withHolds({ ...hold, from: 'clean' })).toMatchObject([{ field: 'holds[0].to', found: 'clean' }]);
  });
});
