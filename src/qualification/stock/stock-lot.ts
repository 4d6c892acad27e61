import { Random } from '../../base/random.js';
import { sha256Hex } from '../../dossier/canonical.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { instrument } from '../equipment.js';
import { type LogDesign, logText, openedAtMs } from '../log.js';
import { builtZones, type LotFiles, placeOf } from '../lots.js';
import { APPROVED, type Document, FICTION, PEOPLE } from '../names.js';
import { recipe } from '../recipe.js';
import { family, specification } from '../specification.js';
import { DESIGN_PROGRAM } from '../stories/names.js';
import { STRIP_EQUIPMENT, type StripAct } from '../strips/strip-lots.js';
import { BLEND, STRIP_CELLS, stripCell } from '../strips/strip-site.js';
import { processValidation } from '../validation.js';
import { BAR, meshOf, RIDGE, scanOf } from './stock-shapes.js';

/** A ridge that is built on a machined bar, scanned before and after: a family of its own in the cell of the rib strips. */
const FAMILY = 'RIDGE-ON-BAR';
const SPECIFICATION = { specification: 'RB-SPEC', revision: 1 };
const RECIPE = { recipe: 'RB-RECIPE', revision: 1 };
const VALIDATION = { validation: 'PV-5', revision: 1 };
const GROUP = 'ridges';
const PRESCRIBER = { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' };
const [{ machine: MACHINE }] = STRIP_CELLS;
export const STOCK_LOT = 'B-2026-01';
export const STOCK_SERIAL = 'RB-601-1';
export const STOCK_PART = 'BAR-7';
const RUN = 601;
const BUILD = `${MACHINE}-${RUN}`;
const FOLDER = `lots/${STOCK_LOT}`;
const CASE = `K-${RUN}-1`;
const SCANNER = 'SCN-1';
const IMAGES = `IM-${RUN}-1`;

const log: LogDesign = {
  ...{ periodMs: 15_000, rowsPerSegment: 4, closedAtMs: Date.parse('2026-10-14T06:30:00Z') },
  zones: [{ logged: 'R1-span', recipeZone: 'span' }],
};
const opened = new Date(openedAtMs(log)).toISOString();

const method = (code: string, title: string): Document => ({
  ...{ kind: 'method', format: 1, method: code, revision: 1, title, standard: 'in-house' },
  ...{ destructive: 'non-destructive', operation: 'dimensions' },
  ...{ effectiveFrom: '2026-10-01T00:00:00+02:00', approval: { by: PEOPLE.quality, at: '2026-09-30T10:00:00+02:00' } },
});

const BAR_MATERIAL = 'MgZnCa-bar';
const powderLimits = specification.materials as readonly Document[];
/** A bar is of the alloy of the powder, within the same limits. */
const barLimit = (limit: Document): Document | undefined =>
  limit.material === 'MgZnCa-powder' ? { ...limit, material: BAR_MATERIAL } : undefined;

const ridgeSpecification: Document = {
  ...specification,
  ...SPECIFICATION,
  ...{
    title: `Ridge on a bar, ${FICTION}`,
    family: FAMILY,
    validations: [VALIDATION],
    effectiveFrom: '2026-10-13T00:00:00+02:00',
  },
  approval: { by: PEOPLE.quality, at: '2026-10-11T14:00:00+02:00' },
  characteristics: [
    {
      ...{ characteristic: 'foot', title: 'Hardness across the interface', ucum: '1', lower: '50' },
      ...{ method: { method: 'TM-FOOT', revision: 1 }, measuredOn: 'implant', zoneClass: 'load-bearing' },
      ...{ replicates: 1, direction: 'higher-is-better', decision: { rule: 'simple' }, rounding: { rule: 'absolute' } },
      ...{ due: 'before-release', plan: 'every-unit' },
    },
    {
      ...{ characteristic: 'ridge', title: 'Share of the ridge outside its profile', ucum: '%', upper: '1' },
      ...{
        method: { method: 'TM-SCAN', revision: 1 },
        measuredOn: 'implant',
        source: 'shape',
        zoneClass: 'load-bearing',
      },
      ...{ replicates: 1, direction: 'lower-is-better', rounding: { rule: 'absolute' } },
      ...{ decision: { rule: 'guarded', confidence: '0.95' }, due: 'before-release', plan: 'every-unit' },
    },
  ],
  builtOnStock: {
    ...{ faceHours: '24', mostChangeMm: '0.05' },
    interface: [
      { tells: 'hardness', characteristic: 'foot' },
      { tells: 'bond', notMeasured: 'shear tests of the bond study of 2026 stand for it (fictional)' },
      { tells: 'porosity', notMeasured: 'tomographs of the bond study of 2026 stand for it (fictional)' },
    ],
  },
  shape: {
    leastScannedPercent: '75',
    unseen: [
      {
        ...{ zoneClass: 'load-bearing', leastScannedPercent: '70', shownBy: 'foot' },
        why: 'the scanner does not see into the corner at the foot of the ridge (fictional)',
      },
    ],
  },
  materials: [...powderLimits, ...powderLimits.flatMap((limit) => barLimit(limit) ?? [])],
  pooling: { ...(specification.pooling as Document), recipeGroups: [GROUP], machines: [MACHINE] },
};

const BAR_LINES = [
  { property: 'Zn', value: '0.46', ucum: '%' },
  { property: 'Ca', value: '0.44', ucum: '%' },
  { property: 'Fe', value: '0.0021', ucum: '%' },
  { property: 'Ni', value: '<0.0005', ucum: '%' },
  { property: 'Cu', value: '0.0007', ucum: '%' },
];
/** The certificate as it came, from which the lines are typed. */
const BAR_PAPER = 'papers/SB-C-H9001.txt';
const barPaper = [
  'Silberbach (fictional) · certificate SB-C-H9001, type 3.1, 2026-10-01',
  'Bars for machining, lot SB-BAR-9, heat H9001, 2 pieces',
  ...BAR_LINES.map(({ property, value, ucum }) => `${property} ${value} ${ucum}`),
  '',
].join('\n');

const bar: Document = {
  ...{ kind: 'receipt', format: 1, receipt: 'R-401', supplier: 'SILBERBACH', material: BAR_MATERIAL },
  ...{ category: 'stock part', supplierLot: 'SB-BAR-9', heats: ['H9001'], quantity: { value: '2', ucum: '1' } },
  ...{ receivedAt: '2026-10-02T10:00:00+02:00', status: 'accepted' },
  acceptance: { by: PEOPLE.quality, at: '2026-10-02T15:00:00+02:00' },
  certificate: {
    ...{
      number: 'SB-C-H9001',
      type: '3.1',
      issued: '2026-10-01',
      transcribedBy: PEOPLE.process,
      checkedBy: PEOPLE.operator,
      file: BAR_PAPER,
    },
    lines: BAR_LINES,
  },
};

const MODEL = meshOf(`${CASE} ridge on a bar`, [BAR, RIDGE]);

const stockDocument = (more: Document = {}): Document => ({
  ...{ kind: 'stock-part', format: 1, stockPart: STOCK_PART, receipt: 'R-401', material: BAR_MATERIAL },
  mesh: { file: 'meshes/bar-7.stl', ucum: 'mm' },
  interface: {
    ...{ zone: 'span', preparation: 'milled dry, wiped with ethanol', roughness: { value: '1.6', ucum: 'um' } },
    ...more,
  },
});

const design: Document = {
  ...{ kind: 'case-design', format: 1, case: CASE, revision: 1, title: `Ridge for ${CASE}, ${FICTION}` },
  outside: { why: 'the first of its kind; the law asks for no envelope here (fictional)' },
  parameters: [{ parameter: 'length', value: '30', ucum: 'mm' }],
  ...{ anatomicalSite: 'rib', side: 'left', marking: `${CASE} L`, model: { file: `models/${CASE}.stl`, ucum: 'mm' } },
  zones: [
    {
      ...{ zone: 'span', profileMm: '0.1' },
      box: { from: { x: '2', y: '1', z: '2.5' }, to: { x: '18', y: '6', z: '6' } },
    },
    {
      ...{ zone: 'bar', profileMm: '0.1' },
      box: { from: { x: '18', y: '-1', z: '-1' }, to: { x: '31', y: '9', z: '4' } },
    },
  ],
  ...{ recipe: RECIPE, software: [DESIGN_PROGRAM], imagingSets: [IMAGES], designer: PEOPLE.process },
};

const ACCEPTANCE = `acceptances/${CASE}.txt`;

/** What the ridge needs: its documents, the bar and the case. */
const site = (): LotFiles => ({
  documents: {
    'families/ridge-on-bar.yaml': { ...family, family: FAMILY, title: `Ridge on a machined bar, ${FICTION}` },
    'methods/TM-FOOT.yaml': method('TM-FOOT', 'Least hardness of a row of marks across the interface'),
    'methods/TM-SCAN.yaml': method('TM-SCAN', 'Fringe projection from six sides'),
    'specifications/RB-SPEC-1.yaml': ridgeSpecification,
    'recipes/RB-RECIPE-1.yaml': {
      ...{ ...recipe, ...RECIPE, machine: MACHINE, family: FAMILY, group: GROUP },
      ...{ title: `Ridge on a bar, ${FICTION}`, approval: APPROVED },
    },
    'validations/PV-5.yaml': {
      ...processValidation,
      ...{ ...VALIDATION, title: `Ridges on bars, ${FICTION}`, family: FAMILY, machine: MACHINE },
      ...{ recipeGroups: [GROUP], shown: [] },
    },
    'equipment/SCN-1.yaml': instrument(
      {
        ...{ code: SCANNER, title: 'Fringe projection scanner', measures: 'shape' },
        calibrations: [{ at: '2026-09-21', due: '2027-09-21' }],
      },
      '2026-10-12',
    ),
    'receipts/R-401.yaml': bar,
    'stock/bar-7.yaml': stockDocument(),
    [`cases/${CASE}.yaml`]: {
      ...{ kind: 'case', format: 1, case: CASE, family: FAMILY, neededBy: '2026-12-15', designIteration: 1 },
      ...{ anatomicalSite: 'rib', side: 'left' },
      prescriber: PRESCRIBER,
      prescription: { reference: `RX-${RUN}-1`, at: '2026-09-28T10:00:00Z' },
    },
    [`cases/${CASE}-images.yaml`]: {
      ...{ kind: 'imaging-set', format: 1, imagingSet: IMAGES, case: CASE, takenOn: '2026-09-25', modality: 'CT' },
      ...{ sliceMm: '0.6', sha256: sha256Hex(`invented images of ${CASE}`) },
      received: { by: PEOPLE.process, at: '2026-09-28T11:00:00Z' },
    },
    [`cases/${CASE}-design.yaml`]: design,
    [`cases/${CASE}-accepted.yaml`]: {
      ...{ kind: 'design-acceptance', format: 1, case: CASE, iteration: 1, by: PRESCRIBER },
      ...{ at: '2026-10-12T07:00:00Z', model: sha256Hex(MODEL), original: ACCEPTANCE, enteredBy: PEOPLE.process },
    },
  },
  texts: {
    [`receipts/${BAR_PAPER}`]: barPaper,
    [`cases/${ACCEPTANCE}`]: `Invented message: iteration 1 of ${CASE} is accepted.\n`,
    'stock/meshes/bar-7.stl': meshOf('bar 7', [BAR]),
    [`cases/models/${CASE}.stl`]: MODEL,
  },
});

/** The day before the build its face was made ready. */
const ready = (): LotFiles => ({
  documents: { 'stock/bar-7.yaml': stockDocument({ prepared: [{ by: PEOPLE.operator, at: '2026-10-13T14:00:00Z' }] }) },
  texts: { 'stock/meshes/bar-7.stl': meshOf('bar 7', [BAR]) },
});

const scan = (name: string, file: string, at: string, more: Document): Document => ({
  ...{
    specimen: STOCK_SERIAL,
    scan: name,
    file: `scans/${file}.ply`,
    form: 'ply',
    ucum: 'mm',
    standardUncertaintyMm: '0.006',
  },
  ...{ alignment: { how: 'as given' }, instrument: SCANNER, by: PEOPLE.secondAnalyst, at },
  ...more,
});

/** The bar bends a little towards its far end where it was built on, and the ridge leans a little. */
const bent = ([x]: readonly [number, number, number]) => ((x - 15) / 15) * 0.012;

/** The ridge as it was built and tested, with the bar scanned before and after. */
const built = (): LotFiles => ({
  documents: {
    [`${FOLDER}/lot.yaml`]: {
      ...{ kind: 'lot', format: 1, lot: STOCK_LOT, family: FAMILY, specification: SPECIFICATION },
      opened: { by: PEOPLE.process, at: '2026-10-13T12:00:00Z' },
      builds: [
        {
          ...{ build: BUILD, machine: MACHINE, run: RUN, operator: PEOPLE.operator },
          ...{ closedAt: new Date(log.closedAtMs).toISOString(), openedAt: opened },
          ...{ powder: [{ state: BLEND, chargedG: '120' }], gas: [{ receipt: 'R-118' }] },
          log: {
            file: `logs/run-${RUN}.csv`,
            channels: [
              ...['oxygen', 'moisture'].map((channel) => ({ channel, ucum: '[ppm]' })),
              { channel: 'laser_power', ucum: 'W' },
              { channel: 'chamber_pressure', ucum: 'mbar' },
              { channel: 'powder_flow', ucum: 'g/min' },
              { channel: 'needle_force', ucum: 'N' },
              { channel: 'spindle_speed', ucum: '/min' },
            ],
            ...{ nominalPeriodMs: log.periodMs, gapLimitMs: 5 * log.periodMs },
          },
        },
      ],
      implants: [
        {
          ...{
            serial: STOCK_SERIAL,
            case: CASE,
            designIteration: 1,
            build: BUILD,
            recipe: RECIPE,
            builtOn: STOCK_PART,
          },
          ...{ zones: builtZones(log.zones, 'R1'), ...placeOf(1) },
        },
      ],
      scans: [
        scan('bare', 'bare', '2026-10-13T15:00:00Z', { when: 'before', against: { what: 'stock part' } }),
        scan('built', 'built', '2026-10-15T09:00:00Z', { when: 'after', against: { what: 'scan', scan: 'bare' } }),
        scan('end', 'built', '2026-10-15T09:00:00Z', { when: 'final', against: { what: 'design' } }),
      ],
    },
  },
  texts: {
    [`${FOLDER}/logs/run-${RUN}.csv`]: logText(log, new Random(RUN), new Random(2000 + RUN)),
    [`${FOLDER}/results/foot.csv`]: writeCsv(RESULT_COLUMNS.all, [
      [
        ...[STOCK_SERIAL, '', 'foot', '1', '58.5', '1', '', '', '2026-10-15T10:30:00Z', 'HV-1', PEOPLE.secondAnalyst],
        ...['TM-FOOT', '1', '', '', ''],
      ],
    ]),
    [`${FOLDER}/scans/bare.ply`]: scanOf({ blocks: [BAR], seed: RUN, off: () => 0 }),
    [`${FOLDER}/scans/built.ply`]: STOCK_SCAN,
  },
});

/** The finished part as it was scanned. */
export const STOCK_SCAN = scanOf({
  ...{ blocks: [BAR, RIDGE], seed: RUN + 1 },
  off: (place) => (place[2] > 3.1 ? 0.02 : 0) + bent(place),
});

export const STOCK_ACTS: readonly StripAct[] = [
  {
    ...{ at: '2026-10-12T07:30:00Z', title: 'its machine maintained since', folder: STRIP_EQUIPMENT, lots: [] },
    files: () => ({ documents: stripCell(MACHINE, '2026-08-27'), texts: {} }),
  },
  {
    ...{ at: '2026-10-12T08:00:00Z', title: 'a ridge is to be built on a machined bar', folder: 'ridge', lots: [] },
    files: site,
  },
  {
    ...{ at: '2026-10-13T14:30:00Z', title: 'the face of the bar is made ready', folder: 'ridge', lots: [] },
    files: ready,
  },
  {
    ...{
      at: '2026-10-16T10:00:00Z',
      title: 'the ridge as built, scanned and tested',
      folder: 'ridge',
      lots: [STOCK_LOT],
    },
    files: built,
  },
];
