/**
 * The invented cell: people, machine, instruments, suppliers, documents. Fictional from end to end; no name, number or
 * limit here is a recommendation.
 */
export type Document = Readonly<Record<string, unknown>>;

const FICTION = 'fictional demo data';
export const FAMILY = 'BRIDGE-PLATE';
export const SPECIFICATION = { specification: 'BP-SPEC', revision: 2 };
export const RECIPE = { recipe: 'BP-RECIPE', revision: 4 };
export const MACHINE = 'HC-1';
export const PEOPLE = {
  operator: 'JV',
  process: 'AL',
  analyst: 'IM',
  secondAnalyst: 'LP',
  quality: 'TO',
  release: 'SA',
};

const EFFECTIVE = '2025-09-15T00:00:00+02:00';
const APPROVED = { by: PEOPLE.quality, at: '2025-09-12T14:30:00+02:00' };

const person = (code: string, name: string, does: string, operations: readonly string[]): Document => ({
  kind: 'person',
  format: 1,
  person: code,
  name,
  function: `${does} (${FICTION})`,
  qualifications: operations.map((operation) => ({ operation, from: '2025-06-01' })),
});

const people: Record<string, Document> = {
  'people/JV.yaml': person(PEOPLE.operator, 'Joris Veldkamp', 'operator', ['hybrid build', 'cleaning']),
  'people/AL.yaml': person(PEOPLE.process, 'Ada Lindmark', 'process engineer', ['recipe', 'hybrid build']),
  'people/IM.yaml': person(PEOPLE.analyst, 'Ines Marbach', 'analyst', ['tensile test', 'mass loss', 'tomography']),
  'people/LP.yaml': person(PEOPLE.secondAnalyst, 'Lena Petri', 'analyst', ['dimensions', 'roughness']),
  'people/TO.yaml': person(PEOPLE.quality, 'Tomas Okoro', 'quality engineer', ['release checks']),
  'people/SA.yaml': person(PEOPLE.release, 'Sefa Aydin', 'releaser', ['release']),
};

interface InstrumentFacts {
  readonly code: string;
  readonly title: string;
  readonly measures: string;
  readonly calibrations: readonly { readonly at: string; readonly due: string }[];
}

const instrument = ({ code, title, measures, calibrations }: InstrumentFacts): Document => ({
  kind: 'instrument',
  format: 1,
  instrument: code,
  title,
  measures,
  calibrations: calibrations.map(({ at, due }, index) => ({
    certificate: `CAL-${code}-${index + 1}`,
    at: `${at}T09:00:00+02:00`,
    due: `${due}T09:00:00+02:00`,
    asFound: index === 0 ? 'not recorded' : 'in tolerance',
    asLeft: 'in tolerance',
    traceableTo: `national standards, through an accredited laboratory (${FICTION})`,
  })),
});

const yearly = [
  { at: '2025-09-02', due: '2026-09-02' },
  { at: '2026-08-25', due: '2027-08-25' },
];

const instruments: Record<string, Document> = {
  'equipment/RIG-1.yaml': instrument({
    code: 'RIG-1',
    title: 'Tensile rig 10 kN',
    measures: 'force, extension',
    calibrations: yearly,
  }),
  'equipment/BAL-1.yaml': instrument({
    code: 'BAL-1',
    title: 'Balance, 0.01 mg',
    measures: 'mass',
    calibrations: yearly,
  }),
  'equipment/BAL-2.yaml': instrument({
    code: 'BAL-2',
    title: 'Balance, 0.1 mg',
    measures: 'mass',
    calibrations: [{ at: '2025-11-03', due: '2026-11-03' }],
  }),
  'equipment/MIC-3.yaml': instrument({
    code: 'MIC-3',
    title: 'Micrometer 0–25 mm',
    measures: 'length',
    calibrations: yearly,
  }),
  'equipment/CT-1.yaml': instrument({
    code: 'CT-1',
    title: 'X-ray tomograph',
    measures: 'porosity, geometry',
    calibrations: yearly,
  }),
  'equipment/SURF-1.yaml': instrument({
    code: 'SURF-1',
    title: 'Areal surface microscope',
    measures: 'roughness',
    calibrations: yearly,
  }),
  'equipment/XRD-1.yaml': instrument({
    code: 'XRD-1',
    title: 'X-ray diffractometer',
    measures: 'residual stress',
    calibrations: yearly,
  }),
};

const method = (
  code: string,
  title: string,
  standard: string,
  destructive: boolean,
  conditions?: string,
): Document => ({
  kind: 'method',
  format: 1,
  method: code,
  revision: 1,
  title,
  standard,
  ...(conditions === undefined ? {} : { conditions }),
  destructive: destructive ? 'destructive' : 'non-destructive',
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
});

const methods: Record<string, Document> = {
  'methods/TM-RM.yaml': method('TM-RM', 'Tensile test on a flat coupon', 'ISO 6892-1', true),
  'methods/TM-DEG.yaml': method(
    'TM-DEG',
    'Immersion, 14 days, mass loss',
    'ASTM G31, ASTM G1, ASTM F3268',
    true,
    'buffered medium, 37 °C, 25 mL/cm², static, as machined and peened',
  ),
  'methods/TM-THK.yaml': method('TM-THK', 'Plate thickness at five places', 'in-house', false),
  'methods/TM-POR.yaml': method('TM-POR', 'Porosity by tomography', 'ASTM E1570', false, 'voxel 12 µm'),
  'methods/TM-SA.yaml': method('TM-SA', 'Areal roughness Sa', 'ISO 25178', false),
  'methods/TM-RS.yaml': method('TM-RS', 'Surface residual stress', 'EN 15305', false),
};

const supplier = (code: string, title: string, scope: string): Document => ({
  kind: 'supplier',
  format: 1,
  supplier: code,
  title: `${title} (fictional)`,
  approvals: [{ scope, from: '2025-01-01', to: '2027-12-31', basis: 'audit of 2024 (fictional)' }],
});

interface PowderReceipt {
  readonly code: string;
  readonly heat: string;
  readonly received: string;
  readonly iron: string;
  readonly zinc: string;
  readonly calcium: string;
}

function powderReceipt({ code, heat, received, iron, zinc, calcium }: PowderReceipt): Document {
  return {
    kind: 'receipt',
    format: 1,
    receipt: code,
    supplier: 'SILBERBACH',
    material: 'MgZnCa-powder',
    category: 'powder',
    supplierLot: `SB-${heat}-A`,
    heats: [heat],
    massG: '8000',
    receivedAt: `${received}T10:20:00+02:00`,
    expiry: `${Number(received.slice(0, 4)) + 2}${received.slice(4)}`,
    status: 'accepted',
    acceptance: { by: PEOPLE.quality, at: `${received}T15:40:00+02:00` },
    certificate: {
      number: `SB-C-${heat}`,
      type: '3.1',
      issued: received,
      transcribedBy: PEOPLE.process,
      checkedBy: PEOPLE.quality,
      lines: [
        { property: 'Zn', value: zinc, ucum: '%' },
        { property: 'Ca', value: calcium, ucum: '%' },
        { property: 'Fe', value: iron, ucum: '%' },
        { property: 'Ni', value: '<0.0005', ucum: '%' },
        { property: 'Cu', value: '0.0008', ucum: '%' },
        { property: 'moisture', value: '61', ucum: 'ug/g' },
        { property: 'D50', value: '78', ucum: 'um' },
      ],
    },
  };
}

const argon = (code: string, received: string): Document => ({
  kind: 'receipt',
  format: 1,
  receipt: code,
  supplier: 'ARGENTIS',
  material: 'argon',
  category: 'gas',
  supplierLot: `AR-${received.replaceAll('-', '')}`,
  receivedAt: `${received}T08:10:00+02:00`,
  expiry: `${Number(received.slice(0, 4)) + 3}${received.slice(4)}`,
  status: 'accepted',
  acceptance: { by: PEOPLE.process, at: `${received}T09:00:00+02:00` },
  certificate: {
    number: `ARG-${received}`,
    type: 'gas analysis',
    issued: received,
    transcribedBy: PEOPLE.operator,
    checkedBy: PEOPLE.process,
    lines: [
      { property: 'O2', value: '<0.5', ucum: '[ppm]' },
      { property: 'H2O', value: '<0.5', ucum: '[ppm]' },
    ],
  },
});

const window = (channel: string, ucum: string, above: object, below?: object): Document => ({
  channel,
  ucum,
  above,
  ...(below === undefined ? {} : { below }),
});

const LASER = window(
  'laser_power',
  'W',
  { alert: '315', action: '325', reject: '340' },
  { alert: '285', action: '275', reject: '260' },
);

const recipe: Document = {
  kind: 'recipe',
  format: 1,
  ...RECIPE,
  title: `Bridge plate, ${FICTION}`,
  group: 'bridge-plates',
  family: FAMILY,
  machine: MACHINE,
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
  chamber: {
    windows: [
      window('oxygen', '[ppm]', { alert: '20', action: '50', reject: '100' }),
      window('moisture', '[ppm]', { alert: '20', action: '40', reject: '80' }),
    ],
    inertChannels: ['oxygen', 'moisture'],
    joinBreaksWithinS: '10',
  },
  zones: [
    {
      zone: 'span',
      title: 'bridge between the eyelets',
      class: 'load-bearing',
      layers: { from: 1, to: 24 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [
            { parameter: 'laser power', set: '300', ucum: 'W' },
            { parameter: 'scan speed', set: '8', ucum: 'mm/s' },
            { parameter: 'powder flow', set: '3.2', ucum: 'g/min' },
          ],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 4,
          parameters: [
            { parameter: 'needle force', set: '45', ucum: 'N' },
            { parameter: 'step-over', set: '0.25', ucum: 'mm' },
          ],
          windows: [],
        },
      ],
    },
    {
      zone: 'eyelet',
      title: 'ring around the screw hole',
      class: 'screw-hole',
      layers: { from: 1, to: 24 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [
            { parameter: 'laser power', set: '290', ucum: 'W' },
            { parameter: 'scan speed', set: '9', ucum: 'mm/s' },
          ],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 6,
          parameters: [{ parameter: 'needle force', set: '35', ucum: 'N' }],
          windows: [],
        },
      ],
    },
    {
      zone: 'skin',
      title: 'upper contour',
      class: 'contour-skin',
      layers: { from: 25, to: 30 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [{ parameter: 'laser power', set: '290', ucum: 'W' }],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 3,
          parameters: [{ parameter: 'needle force', set: '30', ucum: 'N' }],
          windows: [],
        },
        {
          step: 'mill',
          everyLayers: 6,
          parameters: [
            { parameter: 'spindle speed', set: '18000', ucum: '/min' },
            { parameter: 'depth of cut', set: '0.15', ucum: 'mm' },
          ],
          windows: [],
        },
      ],
    },
  ],
};

const simple = { decision: { rule: 'simple' }, due: 'before-release', plan: 'every-unit' };
const absolute = { rounding: { rule: 'absolute' } };
const rounded = { rounding: { rule: 'rounding' } };

const specification: Document = {
  kind: 'specification',
  format: 1,
  ...SPECIFICATION,
  title: `Bridge plate, ${FICTION}`,
  family: FAMILY,
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
  characteristics: [
    {
      characteristic: 'rm',
      title: 'Tensile strength',
      ucum: 'MPa',
      method: { method: 'TM-RM', revision: 1 },
      measuredOn: 'coupon',
      zoneClass: 'load-bearing',
      replicates: 2,
      lower: '215',
      direction: 'higher-is-better',
      ...simple,
      ...rounded,
    },
    {
      characteristic: 'rate',
      title: 'Degradation rate on the bench',
      ucum: 'mm/a',
      method: { method: 'TM-DEG', revision: 1 },
      measuredOn: 'coupon',
      zoneClass: 'load-bearing',
      replicates: 2,
      upper: '0.45',
      direction: 'lower-is-better',
      ...simple,
      ...rounded,
    },
    {
      characteristic: 'stress',
      title: 'Surface residual stress',
      ucum: 'MPa',
      method: { method: 'TM-RS', revision: 1 },
      measuredOn: 'coupon',
      zoneClass: 'load-bearing',
      replicates: 1,
      upper: '-40',
      direction: 'lower-is-better',
      ...simple,
      ...absolute,
    },
    {
      characteristic: 'thickness',
      title: 'Plate thickness',
      ucum: 'mm',
      method: { method: 'TM-THK', revision: 1 },
      measuredOn: 'implant',
      replicates: 1,
      lower: '1.45',
      upper: '1.55',
      target: '1.50',
      direction: 'nominal-is-best',
      decision: { rule: 'guarded', confidence: '0.95' },
      due: 'before-release',
      plan: 'every-unit',
      ...absolute,
    },
    {
      characteristic: 'porosity',
      title: 'Porosity',
      ucum: '%',
      method: { method: 'TM-POR', revision: 1 },
      measuredOn: 'implant',
      zoneClass: 'load-bearing',
      replicates: 1,
      upper: '0.50',
      direction: 'lower-is-better',
      ...simple,
      ...absolute,
    },
    {
      characteristic: 'sa',
      title: 'Roughness Sa',
      ucum: 'um',
      method: { method: 'TM-SA', revision: 1 },
      measuredOn: 'implant',
      zoneClass: 'contour-skin',
      replicates: 1,
      upper: '6.0',
      direction: 'lower-is-better',
      ...simple,
      ...absolute,
    },
  ],
  materials: [
    { material: 'MgZnCa-powder', property: 'Zn', ucum: '%', lower: '0.35', upper: '0.55' },
    { material: 'MgZnCa-powder', property: 'Ca', ucum: '%', lower: '0.35', upper: '0.55' },
    { material: 'MgZnCa-powder', property: 'Fe', ucum: '[ppm]', upper: '50' },
    { material: 'MgZnCa-powder', property: 'Ni', ucum: '[ppm]', upper: '10' },
    { material: 'MgZnCa-powder', property: 'Cu', ucum: '[ppm]', upper: '20' },
    { material: 'argon', property: 'O2', ucum: '[ppm]', upper: '2' },
    { material: 'argon', property: 'H2O', ucum: '[ppm]', upper: '3' },
  ],
  pooling: {
    recipeGroups: ['bridge-plates'],
    machines: [MACHINE],
    methodRevisions: 'same',
    from: '2025-10-01',
    rationale: `one machine, one recipe group, one revision of each method (${FICTION})`,
  },
};

const family: Document = {
  kind: 'family',
  format: 1,
  family: FAMILY,
  revision: 1,
  title: `Resorbable bridge plate, ${FICTION}`,
  alloy: 'Mg–Zn–Ca, lean (fictional)',
  intendedUse: 'none: invented for a demonstration',
  route: 'custom-made',
  classEu: 'III, wholly absorbed (Regulation (EU) 2017/745 Annex VIII rule 8)',
  sterile: 'sterile',
  lifetime: { years: 6, basis: 'implantation until absorption and follow-up (fictional)' },
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
};

const powder = (
  state: string,
  operation: string,
  madeAt: string,
  inputs: readonly object[],
  reuseCycle: number,
): Document => ({
  kind: 'powder-state',
  format: 1,
  state,
  operation,
  madeAt: `${madeAt}T07:45:00+02:00`,
  madeBy: PEOPLE.operator,
  inputs,
  reuseCycle,
  moistureUgPerG: String(58 + reuseCycle * 4),
});

/** What the cell had at the start, and what came later, by folder of the scenario and file. */
export const SITE_STEPS: readonly {
  readonly at: string;
  readonly title: string;
  readonly folder: string;
  readonly documents: Record<string, Document>;
}[] = [
  {
    at: '2025-09-22T08:00:00Z',
    title: 'the cell as it stood: people, equipment, methods, recipe, specification, first heat',
    folder: 'site',
    documents: {
      ...people,
      ...instruments,
      ...methods,
      'equipment/HC-1.yaml': {
        kind: 'machine',
        format: 1,
        machine: MACHINE,
        title: `Hybrid cell 1 (${FICTION})`,
        location: 'laboratory 2',
        does: ['deposit', 'peen', 'mill'],
      },
      'suppliers/SILBERBACH.yaml': supplier('SILBERBACH', 'Silberbach Powders', 'magnesium alloy powder'),
      'suppliers/ARGENTIS.yaml': supplier('ARGENTIS', 'Argentis Gases', 'argon'),
      'families/bridge-plate.yaml': family,
      'recipes/BP-RECIPE-4.yaml': recipe,
      'specifications/BP-SPEC-2.yaml': specification,
      'receipts/R-101.yaml': powderReceipt({
        code: 'R-101',
        heat: 'H7731',
        received: '2025-09-16',
        iron: '0.0021',
        zinc: '0.46',
        calcium: '0.44',
      }),
      'receipts/R-102.yaml': argon('R-102', '2025-09-18'),
      'powder/PS-01.yaml': powder('PS-01', 'fill', '2025-09-19', [{ receipt: 'R-101', massG: '5000' }], 0),
    },
  },
  {
    at: '2026-02-20T08:00:00Z',
    title: 'a second heat, blended with what was left of the first',
    folder: 'site-2026-02',
    documents: {
      'receipts/R-117.yaml': powderReceipt({
        code: 'R-117',
        heat: 'H8012',
        received: '2026-02-16',
        iron: '0.0027',
        zinc: '0.45',
        calcium: '0.47',
      }),
      'receipts/R-118.yaml': argon('R-118', '2026-02-17'),
      'powder/PS-02.yaml': powder(
        'PS-02',
        'blend',
        '2026-02-18',
        [
          { state: 'PS-01', massG: '2400' },
          { receipt: 'R-117', massG: '2600' },
        ],
        5,
      ),
    },
  },
  {
    at: '2026-08-28T08:00:00Z',
    title: 'the blend topped up',
    folder: 'site-2026-08',
    documents: {
      'powder/PS-03.yaml': powder(
        'PS-03',
        'top-up',
        '2026-08-27',
        [
          { state: 'PS-02', massG: '2100' },
          { receipt: 'R-101', massG: '900' },
          { receipt: 'R-117', massG: '1000' },
        ],
        11,
      ),
    },
  },
];
