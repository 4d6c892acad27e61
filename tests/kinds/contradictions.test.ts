import fc from 'fast-check';
import { KINDS, kindNamed } from '../../src/kinds/catalogue.js';
import { TIES } from '../../src/kinds/ties.js';
import { makeCell } from '../support/cell.js';
import { VALID_DOCUMENTS, type Written, written } from './valid-documents.js';

const EARLIER = '2031-03-02T08:00:00+01:00';
const LATER = '2031-03-04T08:00:00+01:00';

function read(kind: string, document: Written) {
  const found = kindNamed(kind)!;
  const body = found.schema.parse(document);
  return { kind: found, body, faults: found.contradictions(body) };
}

describe.each(Object.keys(VALID_DOCUMENTS))('a small document of kind %s', (name) => {
  it('is read, contradicts nothing, and is read again from what was read', () => {
    const { kind, body, faults } = read(name, written(name));
    expect(faults).toEqual([]);
    expect(kind.schema.parse(body)).toEqual(body);
    expect(kind.key(body)).toMatch(/\S/);
    expect(kind.name(body)).toMatch(/\S/);
  });

  it('says where each of its references stands', () => {
    const { kind, body } = read(name, written(name));
    for (const { name: tie, field, key } of kind.links(body)) {
      expect(TIES).toHaveProperty([tie]);
      const at = field.split(/[.[\]]+/).filter(Boolean);
      const value = at.reduce<unknown>((inner, step) => (inner as Written)[step], body);
      expect(JSON.stringify(value)).toContain(key);
    }
  });

  it('takes no field that nobody knows', () => {
    expect(kindNamed(name)!.schema.safeParse({ ...written(name), colour: 'grey' }).success).toBe(false);
  });
});

/** [kind, what is done to the small document, field of the fault, what it finds] */
const FAULTS: readonly (readonly [kind: string, (document: Written) => void, field: string, found: string])[] = [
  ['material-specification', (d) => d.lines.push(d.lines[0]), 'lines[1].property', '"Fe" a second time'],
  [
    'instrument-profile',
    (d) => d.tables[0].values.push({ column: 'Probe', characteristic: 'zn', ucum: '%' }),
    'tables[0].values[1].column',
    '"Probe" a second time',
  ],
  [
    'instrument-profile',
    (d) => d.tables[0].columns.push({ column: 'Nummer', is: 'specimen' }),
    'tables[0].columns[2].is',
    '"specimen" a second time',
  ],
  ['certificate-profile', (d) => delete d.csv, 'csv', 'neither csv nor xml'],
  ['certificate-profile', (d) => Object.assign(d, { xml: { row: '/a/b' } }), 'csv', 'csv and xml'],
  [
    'certificate-profile',
    (d) => Object.assign(d, { csv: undefined, xml: { row: '/a/b' }, identity: [{ column: '//a', is: 'heat' }] }),
    'identity[0].column',
    '//a',
  ],
  [
    'certificate-profile',
    (d) => Object.assign(d.columns, { uncertainty: 'U' }),
    'uncertainty',
    'nothing, beside a column of uncertainties',
  ],
  [
    'certificate-profile',
    (d) => Object.assign(d, { columns: { ...d.columns, uncertainty: 'U' }, uncertainty: { is: 'expanded' } }),
    'uncertainty.coverageFactor',
    '0 coverage factors',
  ],
  ['certificate-profile', (d) => d.properties.push(d.properties[0]), 'properties[1].name', '"Zink" a second time'],
  ['instrument-profile', (d) => d.tables[0].columns.pop(), 'tables[0].columns', 'no column that is measuredAt'],
  ['instrument-profile', (d) => delete d.tables[0].constants.analyst, 'tables[0].constants.analyst', 'no analyst'],
  [
    'instrument-profile',
    (d) => d.tables[0].columns.push({ column: 'Wer', is: 'analyst' }),
    'tables[0].constants.analyst',
    'analyst in a column and for all rows',
  ],
  ['instrument-profile', (d) => delete d.time.zone, 'time.zone', 'no zone'],
  ['instrument-profile', (d) => d.tables.push(d.tables[0]), 'tables[0].begins', 'nothing, beside other tables'],
  ['material-specification', (d) => Object.assign(d.lines[0], { lower: '60' }), 'lines[0]', '60 to 50'],
  ['material-specification', (d) => Object.assign(d, { inUseLimit: {} }), 'inUseLimit', 'no limit'],
  [
    'material-specification',
    (d) => Object.assign(d, { certificateTypes: ['3.1', '3.1'] }),
    'certificateTypes[1]',
    '"3.1" a second time',
  ],
  [
    'material-specification',
    (d) => Object.assign(d, { skipTest: { every: 5, basis: 'ten good ones' } }),
    'skipTest',
    'no line from an own test',
  ],
  [
    'material-specification',
    (d) => Object.assign(d, { sumRange: { properties: ['Fe', 'Zn'], ucum: '%', lower: '99', upper: '101' } }),
    'sumRange.properties[1]',
    'Zn',
  ],
  [
    'material-specification',
    (d) => {
      d.lines.push({ property: 'Zn', ucum: '%', from: 'own test' });
      d.sumRange = { properties: ['Fe', 'Zn'], ucum: '%', lower: '101', upper: '99' };
    },
    'sumRange',
    '101 to 99',
  ],
  [
    'receipt',
    (d) => Object.assign(d, { massG: '5000', quantity: { value: '5', ucum: 'kg' } }),
    'quantity',
    'massG 5000 and quantity 5 kg',
  ],
  ['receipt', (d) => Object.assign(d, { acceptance: { by: 'P-QE', at: EARLIER } }), 'acceptance.at', EARLIER],
  ['receipt', (d) => Object.assign(d, { corrects: { certificate: 'C-0', why: 'x' } }), 'corrects', 'no certificate'],
  [
    'receipt',
    (d) =>
      Object.assign(d, {
        certificate: certificate('C-1'),
        corrects: { certificate: 'C-1', why: 'a digit was wrong' },
      }),
    'corrects.certificate',
    'its own number',
  ],
  ['powder-state', (d) => d.inputs.push(d.inputs[0]), 'inputs[2]', '"receipt R-1" a second time'],
  ['powder-state', (d) => Object.assign(d, { yieldG: '119', lossG: '1.51' }), 'yieldG', '120.51 g'],
  ['powder-state', (d) => Object.assign(d, { lossG: '120.51' }), 'lossG', '120.51 g'],
  [
    'powder-state',
    (d) =>
      Object.assign(d, {
        tests: [{ property: 'oxygen', value: '310', ucum: '[ppm]', instrument: 'I-1', by: 'P-AN', at: EARLIER }],
      }),
    'tests[0].at',
    EARLIER,
  ],
  ['consumable', (d) => Object.assign(d, { retiredAt: EARLIER }), 'retiredAt', EARLIER],
  ['consumable', (d) => d.made.push({ receipt: 'R-9' }), 'made[1]', '"receipt R-9" a second time'],
  ['consumable', (d) => d.made.push({ consumable: 'TIP-7' }), 'made[1].consumable', 'which is itself'],
  ['changeover', (d) => Object.assign(d, { toAlloy: 'Zn-Mg' }), 'toAlloy', 'Zn-Mg'],
  ['changeover', (d) => Object.assign(d.verified, { by: 'P-OP' }), 'verified.by', 'P-OP'],
  ['changeover', (d) => d.cleaned.push('hopper'), 'cleaned[2]', '"hopper" a second time'],
  ['risk-build', (d) => d.receipts.push('R-1'), 'receipts[1]', '"R-1" a second time'],
  ['risk-build', (d) => d.implants.push('L-1-I1'), 'implants[1]', '"L-1-I1" a second time'],
  ['process-load', (d) => Object.assign(d, { equipment: 'ST' }), 'equipment', 'ST, and contractor S2'],
  ['process-load', (d) => delete d.contractor, 'equipment', 'neither equipment nor contractor'],
  ['process-load', (d) => delete d.implants, 'implants', 'no part'],
  ['process-load', (d) => d.implants.push('L-1-I1'), 'implants[1]', '"L-1-I1" a second time'],
  ['process-load', (d) => Object.assign(d, { coupons: ['W', 'W'] }), 'coupons[1]', '"W" a second time'],
  ['process-load', (d) => Object.assign(d, { startedAt: LATER }), 'at', '2031-03-03'],
  ['process-load', (d) => Object.assign(d, { expiry: '2031-03-02' }), 'expiry', '2031-03-02'],
  ['process-load', (d) => Object.assign(d.cycle[0], { min: '30', max: '25' }), 'cycle[0]', '30 to 25'],
  ['process-load', (d) => d.cycle.push(d.cycle[0]), 'cycle[1].parameter', '"dose" a second time'],
  [
    'process-load',
    (d) => Object.assign(d, { consumables: [{ consumable: 'B-1' }, { consumable: 'B-1', uses: 2 }] }),
    'consumables[1].consumable',
    '"B-1" a second time',
  ],
  ['nonconformity', (d) => d.touches.push(d.touches[0]), 'touches[2].key', '"L-1-I1" a second time'],
  [
    'nonconformity',
    (d) => Object.assign(d, { from: Array(2).fill({ kind: 'build', key: 'M1-101' }) }),
    'from[1].key',
    '"build M1-101" a second time',
  ],
  ['nonconformity', (d) => Object.assign(d, { findings: Array(2).fill('a'.repeat(64)) }), 'findings[1]', 'a second'],
  ['nonconformity', (d) => evaluated(d, EARLIER), 'evaluation.at', EARLIER],
  ['nonconformity', (d) => Object.assign(d, { disposition: scrap('L-1-I1') }), 'disposition', 'a disposition'],
  [
    'nonconformity',
    (d) => Object.assign(evaluated(d), { disposition: scrap('L-1-I9') }),
    'disposition[0].units[0]',
    'L-1-I9',
  ],
  [
    'nonconformity',
    (d) => Object.assign(evaluated(d), { disposition: [...scrap('L-1-I1'), ...scrap('L-1-I1')] }),
    'disposition[1].units[0]',
    '"L-1-I1" a second time',
  ],
  [
    'nonconformity',
    (d) => Object.assign(evaluated(d), { disposition: [{ ...scrap('L-1-I1')[0], as: 'concession' }] }),
    'disposition[0].clause',
    'no clause',
  ],
  ['nonconformity', (d) => closed(d, LATER), 'closure', 'a closure'],
  [
    'nonconformity',
    (d) => closed(Object.assign(evaluated(d), { disposition: scrap('L-1-I1') }), LATER),
    'closure',
    'nothing decided on L-1-I2',
  ],
  [
    'nonconformity',
    (d) => closed(Object.assign(evaluated(d), { disposition: scrap('L-1-I1', 'L-1-I2') }), EARLIER),
    'closure.at',
    EARLIER,
  ],
  ['rework-instruction', (d) => d.disturbs.push('thickness'), 'disturbs[1]', '"thickness" a second time'],
  ['rework-instruction', (d) => d.repeat.push('thickness'), 'repeat[1]', '"thickness" a second time'],
  ['rework-instruction', (d) => d.disturbs.push('rate'), 'disturbs[1]', 'rate, which is not measured again'],
  ['unit-move', (d) => Object.assign(d, { toLot: 'L-1' }), 'toLot', 'L-1'],
  ['unit-move', (d) => delete d.implants, 'implants', 'no part'],
  ['corrective-action', (d) => d.triggers.push(d.triggers[0]), 'triggers[1].key', '"nonconformity NC-3" a second time'],
  ['corrective-action', (d) => Object.assign(d, { dueOn: '2031-03-02' }), 'dueOn', '2031-03-02'],
  ['corrective-action', (d) => Object.assign(d.steps[0], { dueOn: '2031-03-02' }), 'steps[0].dueOn', '2031-03-02'],
  ['corrective-action', (d) => Object.assign(d.steps[0], { doneOn: '2031-03-02' }), 'steps[0].doneOn', '2031-03-02'],
  ['corrective-action', (d) => looked(d, '2031-06-01'), 'steps[0].doneOn', 'nothing'],
  [
    'corrective-action',
    (d) => {
      d.steps[0].doneOn = '2031-04-01';
      looked(d, '2031-03-31');
    },
    'effectiveness.on',
    '2031-03-31',
  ],
  ['storage-place', (d) => Object.assign(d.windows[0], { above: undefined }), 'windows[0]', 'no level'],
  ['storage-place', (d) => d.windows.push(d.windows[0]), 'windows[1].channel', '"humidity" a second time'],
  ['storage-place', (d) => d.instruments.push(d.instruments[0]), 'instruments[1].channel', '"humidity" a second time'],
  ['storage-place', (d) => Object.assign(d.instruments[0], { channel: 'oxygen' }), 'windows[0].channel', 'humidity'],
  ['storage-place', (d) => Object.assign(d, { logs: [logOf(LATER, EARLIER)] }), 'logs[0].to', EARLIER],
  [
    'storage-place',
    (d) => Object.assign(d, { logs: [logOf(EARLIER, LATER), logOf(EARLIER, LATER)] }),
    'logs[1].file',
    '"logs/dry.csv" a second time',
  ],
  [
    'storage-place',
    (d) => Object.assign(d, { stays: [{ implant: 'I', from: LATER, to: EARLIER }] }),
    'stays[0].to',
    EARLIER,
  ],
  [
    'storage-place',
    (d) =>
      Object.assign(d, {
        stays: [
          { state: 'PS-1', from: EARLIER },
          { state: 'PS-1', from: LATER },
        ],
      }),
    'stays[1].from',
    'while it was there',
  ],
];

const certificate = (number: string) => ({
  number,
  type: '3.1',
  issued: '2031-03-01',
  transcribedBy: 'P-OP',
  lines: [{ property: 'Fe', value: '<0.0030', ucum: '%' }],
});
const scrap = (...units: readonly string[]) => [{ units, as: 'scrap', justification: 'too deep' }];
const evaluated = (document: Written, at = '2031-03-03T09:00:00+01:00') =>
  Object.assign(document, { evaluation: { cause: 'fixture', riskFile: 'no', by: 'P-QE', at } });
const closed = (document: Written, at: string) =>
  Object.assign(document, { closure: { by: 'P-QE', at, says: 'scrapped' } });
const looked = (document: Written, on: string) =>
  Object.assign(document, { effectiveness: { on, by: 'P-QE', result: 'effective', says: 'no scratch in ten lots' } });
const logOf = (from: string, to: string) => ({
  file: 'logs/dry.csv',
  from,
  to,
  nominalPeriodMs: 60_000,
  gapLimitMs: 120_000,
});

describe('what one document cannot say', () => {
  it.each(FAULTS)('%s %#', (name, spoil, field, found) => {
    const document = written(name);
    spoil(document);
    const { faults } = read(name, document);
    expect(faults).toContainEqual(
      expect.objectContaining({ field, found: expect.stringContaining(found), expected: expect.stringMatching(/\S/) }),
    );
    for (const { remedy } of faults) expect(remedy).toMatch(/\S/);
  });

  it('lets a thing lie in one place again once it has left, and two things at one time', () => {
    const stays = [
      { state: 'PS-1', from: EARLIER, to: LATER },
      { implant: 'PS-1', from: EARLIER },
      { state: 'PS-1', from: LATER },
    ];
    expect(read('storage-place', { ...written('storage-place'), stays }).faults).toEqual([]);
  });

  it('closes what was evaluated and decided', () => {
    const document = closed(
      Object.assign(evaluated(written('nonconformity')), { disposition: scrap('L-1-I1', 'L-1-I2') }),
      LATER,
    );
    expect(read('nonconformity', document).faults).toEqual([]);
  });
});

it('finds powder that came from nowhere exactly when yield and loss are more than what went in, to the last digit', () => {
  const tenths = fc.integer({ min: 1, max: 3000 });
  const grams = (count: number) => `${Math.floor(count / 10)}.${count % 10}`;
  fc.assert(
    fc.property(tenths, tenths, tenths, tenths, (first, second, out, lost) => {
      const { faults } = read('powder-state', {
        ...written('powder-state'),
        inputs: [
          { receipt: 'R-1', massG: grams(first) },
          { receipt: 'R-2', massG: grams(second) },
        ],
        yieldG: grams(out),
        lossG: grams(lost),
      });
      return faults.length > 0 === out + lost > first + second;
    }),
  );
});

describe('acceptance of a receipt', () => {
  const digestOf = (value: unknown) => JSON.stringify(value);
  const covered = (fields: Written) => {
    const { kind, body } = read('receipt', { ...written('receipt'), ...fields });
    return kind.signable!(body, digestOf).find((part) => part.kind === 'receipt')!.digest;
  };

  it('covers how the container came and which lot stands on its label, once they are known', () => {
    const before = covered({});
    for (const fields of [
      { labelLot: 'PL-78' },
      { container: { sealed: 'no', desiccantTouches: 'no' } },
      { state: 'used' },
      { materialSpecification: { material: 'mg-powder', revision: 1 } },
    ]) {
      expect(covered(fields)).not.toBe(before);
    }
  });

  it('does not cover what it was not decided on', () => {
    expect(covered({ atomisation: { route: 'gas', gas: 'argon' } })).toBe(covered({}));
  });
});

it('names the files that documents rest on', () => {
  const files = (name: string, fields: Written) => {
    const { kind, body } = read(name, { ...written(name), ...fields });
    return kind.files(body).map((file) => `${file.name} ${file.path} ${file.field}`);
  };
  expect(files('process-load', { report: 'a.pdf' })).toEqual(['report a.pdf report']);
  expect(files('storage-place', { logs: [logOf(EARLIER, LATER)] })).toEqual(['log logs/dry.csv logs[0].file']);
  expect(
    files('nonconformity', {
      ...evaluated({}),
      disposition: scrap('L-1-I1', 'L-1-I2'),
      closure: { by: 'P-QE', at: LATER, says: 'scrapped', evidence: 'b.pdf' },
    }),
  ).toEqual(['attachment b.pdf closure.evidence']);
  const approval = { by: 'P-QE', at: EARLIER, original: 'c.pdf' };
  for (const name of ['material-specification', 'rework-instruction']) {
    expect(files(name, { approval })).toEqual(['approval c.pdf approval.original']);
  }
});

it('has every kind in the list of kinds once', () => {
  const names = KINDS.map(({ kind }) => kind);
  expect(new Set(names).size).toBe(names.length);
  expect(names).toEqual(expect.arrayContaining(Object.keys(VALID_DOCUMENTS)));
});

it('names a limit that no value can pass beside one that can be missed', () => {
  const fault = (more: Written) => {
    const document: Written = structuredClone(makeCell().documents['site/specification.yaml']!);
    Object.assign(document.characteristics[0], more);
    return read('specification', document).faults.map(({ field, found }) => `${field}: ${found}`);
  };
  const both = { lower: '0', upper: '300', target: undefined };
  expect(fault({ ...both, boundary: 'lower', direction: 'lower-is-better' })).toEqual([]);
  expect(fault({ ...both, boundary: 'upper', direction: 'higher-is-better' })).toEqual([]);
  for (const direction of ['higher-is-better', 'nominal-is-best']) {
    expect(fault({ ...both, boundary: 'lower', direction })).toContain(
      `characteristics[0].boundary: lower, and ${direction}`,
    );
  }
  expect(fault({ boundary: 'lower' })).toEqual(['characteristics[0].boundary: lower, and one limit alone']);
});

it('asks for each property of the deposited metal once, by a validation that is named, or on coupons', () => {
  const limit = { property: 'Zn', ucum: '%', lower: '1', validation: 'PV' };
  const fault = (more: Written, deposited?: string) => {
    const document: Written = structuredClone(makeCell().documents['site/specification.yaml']!);
    document.characteristics[0].deposited = deposited;
    return read('specification', JSON.parse(JSON.stringify({ ...document, ...more }))).faults.map(
      ({ field, found }) => `${field}: ${found}`,
    );
  };
  expect(fault({ depositedMetal: [limit] })).toEqual([]);
  expect(fault({ depositedMetal: [{ ...limit, validation: 'PV-9' }] })).toEqual(['depositedMetal[0].validation: PV-9']);
  expect(fault({ depositedMetal: [{ ...limit, lower: undefined }] })).toEqual(['depositedMetal[0]: no limit']);
  expect(fault({ depositedMetal: [limit, limit] })).toEqual([
    'depositedMetal[1].property: property "Zn" a second time',
  ]);
  expect(fault({ depositedMetal: [limit] }, 'Zn')).toEqual([
    'depositedMetal[0].property: Zn, which a characteristic has analysed in each lot',
  ]);
});
