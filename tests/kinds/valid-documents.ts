/**
 * One small document of each kind as a person would write it: only what is needed, and numbers as YAML leaves them. Tests
 * take a copy and spoil one thing.
 */

// biome-ignore lint/suspicious/noExplicitAny: tests spoil documents at any depth
export type Written = Record<string, any>;

const AT = '2031-03-03T08:00:00+01:00';

export const VALID_DOCUMENTS: Readonly<Record<string, Written>> = {
  'material-specification': {
    material: 'mg-powder',
    revision: '1',
    title: 'Mg-Zn-Ca powder',
    category: 'powder',
    lines: [{ property: 'Fe', ucum: '[ppm]', upper: '50', from: 'certificate' }],
    effectiveFrom: AT,
  },
  receipt: {
    receipt: 'R-1',
    supplier: 'S1',
    material: 'mg-powder',
    category: 'powder',
    supplierLot: 'PL-77',
    receivedAt: AT,
    status: 'quarantine',
  },
  'powder-state': {
    state: 'PS-1',
    operation: 'fill',
    madeAt: AT,
    madeBy: 'P-OP',
    inputs: [
      { receipt: 'R-1', massG: '100.5' },
      { state: 'PS-0', massG: '20' },
    ],
  },
  'certificate-profile': {
    profile: 'ZN-LAB',
    revision: '1',
    title: 'Certificates of a laboratory (invented)',
    csv: { delimiter: 'semicolon', headerLines: '0' },
    decimal: 'comma',
    identity: [{ column: 'Schmelze', is: 'heat' }],
    columns: { property: 'Element', value: 'Wert', unit: 'Einheit' },
    properties: [{ name: 'Zink', property: 'Zn', unit: 'Gew.-%', ucum: '%{mass}', need: 'always' }],
  },
  'instrument-profile': {
    profile: 'RIG',
    revision: '1',
    title: 'Tensile rig (invented)',
    delimiter: 'semicolon',
    decimal: 'comma',
    time: { form: 'DD.MM.YYYY HH:mm:ss', zone: 'Europe/Berlin' },
    tables: [
      {
        headerLines: '2',
        columns: [
          { column: 'Probe', is: 'specimen' },
          { column: 'Zeit', is: 'measuredAt' },
        ],
        values: [{ column: 'Rm', characteristic: 'rm', ucum: 'MPa' }],
        constants: { instrument: 'I-RIG', analyst: 'P-AN', method: { method: 'TM-T', revision: '1' } },
      },
    ],
  },
  consumable: {
    consumable: 'TIP-7',
    category: 'tip',
    material: 'carbide',
    made: [{ receipt: 'R-9' }],
    by: 'P-OP',
    inUseFrom: AT,
  },
  changeover: {
    changeover: 'CO-1',
    machine: 'M1',
    fromAlloy: 'Zn-Mg',
    toAlloy: 'Mg-Zn-Ca',
    at: AT,
    by: 'P-OP',
    cleaned: ['hopper', 'feed line'],
    verified: { what: 'swab of the feed line', result: 'passed', by: 'P-QE' },
  },
  'risk-build': {
    build: 'M1-101',
    receipts: ['R-1'],
    why: 'the surgery cannot wait',
    implants: ['L-1-I1'],
    by: 'P-PE',
    at: AT,
  },
  'process-load': {
    load: 'ST-12',
    step: 'sterilise',
    contractor: 'S2',
    at: AT,
    by: 'P-OP',
    cycle: [{ parameter: 'dose', value: '27.1', ucum: 'kGy' }],
    implants: ['L-1-I1'],
  },
  nonconformity: {
    nonconformity: 'NC-3',
    opened: { by: 'P-AN', at: AT },
    says: 'a scratch on the contour',
    touches: [
      { kind: 'implant', key: 'L-1-I1' },
      { kind: 'implant', key: 'L-1-I2' },
    ],
  },
  'rework-instruction': {
    instruction: 'RW-3',
    revision: '1',
    title: 'Etch again',
    nonconformity: 'NC-3',
    steps: [{ step: 'etch', how: '30 s as in the first step' }],
    disturbs: ['thickness'],
    repeat: ['thickness'],
    timesAtMost: '1',
    sideEffects: 'takes 5 um from each face; within the allowance',
    effectiveFrom: AT,
  },
  'unit-move': {
    move: 'MV-1',
    fromLot: 'L-1',
    toLot: 'L-1-B',
    implants: ['L-1-I2'],
    why: 'waits for a further test',
    by: 'P-QE',
    at: AT,
  },
  'corrective-action': {
    action: 'CA-1',
    opened: { by: 'P-QE', at: AT },
    triggers: [{ kind: 'nonconformity', key: 'NC-3' }],
    cause: 'worn edge of the fixture',
    steps: [{ what: 'new fixture', by: 'P-PE', dueOn: '2031-04-01' }],
    dueOn: '2031-06-01',
  },
  'storage-place': {
    place: 'DRY-1',
    title: 'Dry store',
    what: 'dry store',
    windows: [{ channel: 'humidity', ucum: '%', above: { action: '10' } }],
    instruments: [{ channel: 'humidity', instrument: 'HYG-2' }],
  },
};

/** A copy as a document of its kind. */
export const written = (kind: string): Written => structuredClone({ kind, format: '1', ...VALID_DOCUMENTS[kind] });
