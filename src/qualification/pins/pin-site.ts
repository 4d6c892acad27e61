import { instrument } from '../equipment.js';
import type { LotFiles } from '../lots.js';
import { argon, powder, supplier } from '../materials.js';
import { type Document, FICTION, MACHINE, PEOPLE } from '../names.js';
import { recipe } from '../recipe.js';
import { family, specification } from '../specification.js';
import { equivalenceStudy, processValidation } from '../validation.js';
import { laboratoryCertificate } from './lab-signer.js';
import { type Calibrated, calibrationAsDcc, LABORATORY, QIF_THICKNESS } from './pin-lab.js';
import { PIN_MAP, pinChannelMap } from './pin-recording.js';

/**
 * Pins of a zinc alloy, built on the machine of the bridge plates: what they need before their first lot. One of two receipts
 * still waits for its certificate.
 */
export const PIN_FAMILY = 'ZINC-PIN';
export const PIN_SPECIFICATION = { specification: 'ZP-SPEC', revision: 1 };
export const PIN_RECIPE = { recipe: 'ZP-RECIPE', revision: 1 };
export const PIN_STUDY = { study: 'EQ-5', revision: 1 };
export const PIN_POWDER = 'PS-Z4';
export const PROFILE = 'ICP';
/** Profile of the coordinate measuring machine, whose exports are QIF. */
export const DIMENSIONS_PROFILE = 'CMM';
export const DIMENSIONS_GAUGE = 'CMM-2';
export const PIN_RIG = 'RIG-2';
export const ICP_METHOD = { method: 'TM-ICP', revision: 1 };
export const PIN_VALIDATION = { validation: 'PV-3', revision: 1 };
const PIN_GROUP = 'zinc-pins';
const PIN_ALLOY = 'Zn–1Mg (fictional)';
const FROM = '2026-11-01T00:00:00Z';
const ZINC = 'Zn1Mg-powder';
const SUPPLIER = 'ZINKHOF';

/** Signed where they come in: nothing claims an approval. */
const without = ({ approval: _, ...document }: Document): Document => document;
const characteristicsOf = (names: readonly string[]): Document[] =>
  (specification.characteristics as readonly Document[]).filter((item) =>
    names.includes(item.characteristic as string),
  );

const analysis = (characteristic: string, title: string, more: Document): Document => ({
  ...{ characteristic, title, ucum: '%', method: ICP_METHOD, measuredOn: 'coupon', zoneClass: 'load-bearing' },
  ...{ replicates: 1, direction: 'nominal-is-best', decision: { rule: 'simple' }, rounding: { rule: 'absolute' } },
  ...{ due: 'before-release', plan: 'every-unit' },
  ...more,
});

const CALIBRATED = '2026-10-05';
const AGAIN = '2027-10-05';

/** An instrument of the pins, and the certificate of its calibration as it came. */
function calibrated(
  facts: Pick<Calibrated, 'instrument' | 'title' | 'serialNumber' | 'quantity' | 'unit' | 'points'> & {
    readonly measures: string;
    readonly expandedUncertainty: string;
  },
): { readonly document: Document; readonly file: string; readonly text: string } {
  const { instrument: code, title, measures, serialNumber } = facts;
  const calibrations = [{ at: CALIBRATED, due: AGAIN }];
  const document = instrument({ code, title, measures, calibrations }, CALIBRATED);
  const [calibration] = document.calibrations as readonly Document[];
  const certificate = calibration!.certificate as string;
  const file = `certificates/${certificate}.xml`;
  return {
    document: { ...document, serialNumber, calibrations: [{ ...calibration, file }] },
    file: `equipment/${file}`,
    text: calibrationAsDcc({ ...facts, certificate, day: CALIBRATED, recalibrateBy: AGAIN }),
  };
}

/** What the values of the pins were measured with: each by its digital certificate. */
const INSTRUMENTS = [
  calibrated({
    ...{ instrument: 'ICP-1', title: 'Plasma spectrometer', serialNumber: 'SP-20-118', measures: 'elements' },
    ...{ quantity: 'mass fraction of magnesium in zinc', unit: '\\one', expandedUncertainty: '0.00012' },
    points: [
      { reference: '0.00500', shown: '0.00503' },
      { reference: '0.01000', shown: '0.00996' },
    ],
  }),
  calibrated({
    ...{ instrument: DIMENSIONS_GAUGE, title: 'Coordinate measuring machine', serialNumber: 'KM-7-0042' },
    ...{ measures: 'length', quantity: 'length', unit: '\\milli\\metre', expandedUncertainty: '0.0012' },
    points: [
      { reference: '1.0005', shown: '1.0009' },
      { reference: '10.0002', shown: '10.0007' },
      { reference: '50.0001', shown: '50.0012' },
    ],
  }),
  calibrated({
    ...{ instrument: PIN_RIG, title: 'Tensile rig 2 kN', serialNumber: 'ZM-2-311', measures: 'force, extension' },
    ...{ quantity: 'tensile force', unit: '\\newton', expandedUncertainty: '1.2' },
    points: [
      { reference: '200.0', shown: '200.3' },
      { reference: '1000.0', shown: '1001.1' },
      { reference: '2000.0', shown: '1998.9' },
    ],
  }),
];

const pinSpecification: Document = {
  ...{ kind: 'specification', format: 1, ...PIN_SPECIFICATION, title: `Zinc pin, ${FICTION}`, family: PIN_FAMILY },
  effectiveFrom: FROM,
  characteristics: [
    ...characteristicsOf(['rm', 'thickness']),
    analysis('mg', 'Magnesium in the deposit', { lower: '0.6', upper: '1.2', deposited: 'Mg' }),
    analysis('sfe', 'Iron on the surface', { upper: '0.02', touchedBy: ['peen'] }),
  ],
  materials: (specification.materials as readonly Document[]).filter(({ material }) => material === 'argon'),
  depositedMetal: [{ property: 'Fe', ucum: '[ppm]', upper: '60', validation: PIN_VALIDATION.validation }],
  validations: [PIN_VALIDATION],
  pooling: { ...(specification.pooling as Document), recipeGroups: [PIN_GROUP] },
};

const { support: _, ...plateFamily } = without(family);
const pinFamily: Document = {
  ...plateFamily,
  ...{ family: PIN_FAMILY, title: `Resorbable zinc pin, ${FICTION}`, alloy: PIN_ALLOY, sterile: 'non-sterile' },
  effectiveFrom: FROM,
};

const cellDocuments: Record<string, Document> = {
  'families/zinc-pin.yaml': pinFamily,
  'specifications/ZP-SPEC-1.yaml': pinSpecification,
  'recipes/ZP-RECIPE-1.yaml': {
    ...without(recipe),
    ...{ ...PIN_RECIPE, title: `Zinc pin, ${FICTION}`, group: PIN_GROUP, family: PIN_FAMILY, effectiveFrom: FROM },
    zones: (recipe.zones as readonly Document[]).filter(({ zone }) => zone === 'span'),
  },
  'validations/PV-3.yaml': {
    ...without(processValidation),
    ...{ ...PIN_VALIDATION, title: `Hybrid build of zinc pins, ${FICTION}`, family: PIN_FAMILY },
    ...{ recipeGroups: [PIN_GROUP], shown: [], validFrom: FROM, validUntil: '2028-10-31T00:00:00Z' },
    depositedMetal: [
      {
        ...{ property: 'Fe', ucum: '[ppm]', change: '18', standardUncertainty: '4' },
        ...{ analysedAt: '2026-10-12', report: 'PQ-ZP-1 annex C', holdsDays: 365 },
      },
    ],
  },
  'studies/EQ-5.yaml': {
    ...without(equivalenceStudy),
    ...{ ...PIN_STUDY, title: `Coupons beside zinc pins, ${FICTION}`, family: PIN_FAMILY, recipeGroups: [PIN_GROUP] },
    ...{ characteristics: ['rm', 'mg', 'sfe'], differences: [], report: 'EQ-5-R1', validFrom: FROM },
    conclusion: 'Neither strength nor chemistry of coupons differs from that of strips cut from pins (fictional).',
  },
  'methods/TM-ICP.yaml': {
    ...{ kind: 'method', format: 1, ...ICP_METHOD, title: 'Elements by plasma spectrometry, of a dissolved piece' },
    ...{ standard: 'in-house', destructive: 'destructive', operation: 'chemical analysis', effectiveFrom: FROM },
  },
  ...Object.fromEntries(
    INSTRUMENTS.map(({ document }) => [`equipment/${document.instrument as string}.yaml`, document]),
  ),
  [`equipment/${PIN_MAP.map}.yaml`]: pinChannelMap,
  'equipment/CMM-profile.yaml': {
    ...{ kind: 'instrument-profile', format: 1, profile: DIMENSIONS_PROFILE, revision: 1 },
    title: `Results of the coordinate measuring machine by QIF, ${FICTION}`,
    ...{ delimiter: 'comma', decimal: 'point', time: { form: 'ISO' } },
    tables: [
      {
        headerLines: 0,
        columns: [
          { column: 'SerialNumber', is: 'specimen' },
          { column: 'TimeStamp', is: 'measuredAt' },
        ],
        values: [
          {
            ...{ column: QIF_THICKNESS, characteristic: 'thickness', ucum: 'mm' },
            uncertainty: `u(${QIF_THICKNESS})`,
          },
        ],
        constants: {
          ...{ instrument: DIMENSIONS_GAUGE, analyst: PEOPLE.secondAnalyst },
          method: { method: 'TM-THK', revision: 1 },
        },
      },
    ],
  },
  'equipment/BT-1.yaml': {
    ...{ kind: 'machine', format: 1, machine: 'BT-1', title: `Pickling bath (${FICTION})`, location: 'laboratory 2' },
    does: ['clean'],
  },
  'equipment/ICP-profile.yaml': {
    ...{ kind: 'instrument-profile', format: 1, profile: PROFILE, revision: 1 },
    title: `Export of the plasma spectrometer, ${FICTION}`,
    ...{ delimiter: 'semicolon', decimal: 'comma', time: { form: 'DD.MM.YYYY HH:mm:ss', zone: '+01:00' } },
    tables: [
      {
        headerLines: 1,
        columns: [
          { column: 'Probe', is: 'specimen' },
          { column: 'Teil', is: 'piece' },
          { column: 'Zeit', is: 'measuredAt' },
        ],
        values: [
          { column: 'Mg', characteristic: 'mg', ucum: '%', uncertainty: 'u(Mg)' },
          { column: 'Fe', characteristic: 'sfe', ucum: '[ppm]' },
        ],
        constants: { instrument: 'ICP-1', analyst: PEOPLE.analyst, method: ICP_METHOD },
      },
    ],
  },
};

const ordered = (material: string, title: string, category: string, more: Document): Document => ({
  ...{ kind: 'material-specification', format: 1, material, revision: 1, title, category, effectiveFrom: FROM },
  ...more,
});

const received = (receipt: string, material: string, category: string, more: Document): Document => ({
  ...{ kind: 'receipt', format: 1, receipt, supplier: SUPPLIER, material, category, supplierLot: `ZK-${receipt}` },
  ...{ receivedAt: '2026-11-03T09:00:00Z', status: 'accepted', labelLot: `ZK-${receipt}` },
  acceptance: { by: PEOPLE.quality, at: '2026-11-04T09:00:00Z' },
  materialSpecification: { material, revision: 1 },
  ...more,
});

const certificate = (number: string, magnesium: string, iron: string): Document => ({
  ...{ number, type: '3.1', issued: '2026-10-20', transcribedBy: PEOPLE.operator, checkedBy: PEOPLE.process },
  lines: [
    { property: 'Zn', value: '98.9', ucum: '%' },
    { property: 'Mg', value: magnesium, ucum: '%', uncertainty: '0.02' },
    { property: 'Fe', value: iron, ucum: '[ppm]' },
    { property: 'D10', value: '46', ucum: 'um' },
    { property: 'D50', value: '74', ucum: 'um' },
    { property: 'D90', value: '104', ucum: 'um' },
  ],
});

const zincPowder = (receipt: string, heat: string): Document =>
  received(receipt, ZINC, 'powder', {
    ...{ massG: '5000', state: 'virgin', heats: [heat], container: { sealed: 'yes', desiccantTouches: 'no' } },
  });

export const LATE_RECEIPT = 'R-142';

/** In quarantine while it was blended, and accepted once its certificate had come. */
export function lateReceipt(isAccepted: boolean): Document {
  const { status, acceptance: __, ...rest } = zincPowder(LATE_RECEIPT, 'Z81');
  if (!isAccepted) return { ...rest, status: 'quarantine' };
  return {
    ...{ ...rest, status, acceptance: { by: PEOPLE.quality, at: '2026-11-11T09:00:00Z' } },
    certificate: certificate('ZK-C-Z81', '0.94', '<12'),
    reason: 'the certificate came (fictional)',
  };
}

const state = (code: string, operation: string, at: string, inputs: readonly object[], more: Document = {}) => ({
  ...powder(code, operation, '2026-11-05', inputs, '40'),
  ...{ madeAt: `2026-11-05T${at}:00Z`, tests: [] },
  ...more,
});

const materials: Record<string, Document> = {
  'suppliers/ZINKHOF.yaml': supplier(SUPPLIER, 'Zinkhof Metals', 'zinc alloy powder'),
  'suppliers/EICHWALD.yaml': {
    ...supplier('EICHWALD', 'Eichwald calibration laboratory', 'calibration of instruments'),
    signsWith: [
      {
        sha256: laboratoryCertificate(LABORATORY),
        basis: 'digest read out by the laboratory on the telephone, under the number of its contract (fictional)',
      },
    ],
  },
  'materials/zinc-powder.yaml': ordered(ZINC, 'zinc alloy powder', 'powder', {
    lines: [
      { property: 'Mg', ucum: '%', lower: '0.8', upper: '1.2', from: 'certificate' },
      { property: 'Fe', ucum: '[ppm]{mass}', upper: '30', from: 'certificate' },
    ],
    ...{ certificateTypes: ['3.1'], reuseLimit: 3, balancePercent: '2' },
  }),
  'materials/carbide-tip.yaml': ordered('carbide-tip', 'peening tip, carbide', 'tool', {
    ...{ lines: [{ property: 'Co', ucum: '%', from: 'certificate' }], inUseLimit: { uses: 5 } },
  }),
  'materials/acid-bath.yaml': ordered('acid-bath', 'pickling acid', 'chemical', {
    ...{ lines: [{ property: 'HNO3', ucum: '%', from: 'certificate' }], inUseLimit: { hours: '48' } },
  }),
  'receipts/R-141.yaml': { ...zincPowder('R-141', 'Z77'), certificate: certificate('ZK-C-Z77', '1.04', '<10') },
  'receipts/R-142.yaml': lateReceipt(false),
  'receipts/R-143.yaml': received('R-143', 'carbide-tip', 'tool', { quantity: { value: '10', ucum: '1' } }),
  'receipts/R-144.yaml': received('R-144', 'acid-bath', 'chemical', { quantity: { value: '5', ucum: 'L' } }),
  'receipts/R-145.yaml': argon('R-145', '2026-11-05'),
  'powder/PS-Z1.yaml': state('PS-Z1', 'fill', '06:00', [{ receipt: 'R-141', massG: '3000' }]),
  'powder/PS-Z2.yaml': state('PS-Z2', 'sieve', '07:00', [{ state: 'PS-Z1', massG: '1000' }], {
    ...{ yieldG: '990', lossG: '10', hopper: 'H-2', sieve: { meshUm: '106' } },
  }),
  'powder/PS-Z3.yaml': state('PS-Z3', 'blend', '08:00', [
    { state: 'PS-Z2', massG: '600' },
    { receipt: LATE_RECEIPT, massG: '400' },
  ]),
  'powder/PS-Z4.yaml': state(PIN_POWDER, 'top-up', '09:00', [
    { state: 'PS-Z3', massG: '800' },
    { receipt: 'R-141', massG: '200' },
  ]),
  'powder/PS-Z5.yaml': state('PS-Z5', 'discard', '10:00', [{ state: 'PS-Z2', massG: '200' }], {
    note: 'lay open over night (fictional)',
  }),
  'powder/PS-Z6.yaml': state('PS-Z6', 'purge', '11:00', [{ state: 'PS-Z1', massG: '50' }]),
  'changeovers/CO-1.yaml': {
    ...{ kind: 'changeover', format: 1, changeover: 'CO-1', machine: MACHINE, by: PEOPLE.operator },
    ...{ fromAlloy: family.alloy, toAlloy: PIN_ALLOY, at: '2026-11-06T06:00:00Z' },
    purge: { massG: '50', intoState: 'PS-Z6' },
    cleaned: ['hopper', 'feed line', 'nozzle', 'chamber'],
    verified: { what: 'swab of hopper and nozzle (fictional)', result: 'passed', by: PEOPLE.quality },
  },
  'consumables/B-7.yaml': {
    ...{ kind: 'consumable', format: 1, consumable: 'B-7', category: 'gas bottle', material: 'argon' },
    ...{ made: [{ receipt: 'R-145' }], machine: MACHINE, by: PEOPLE.operator, inUseFrom: '2026-11-06T06:30:00Z' },
  },
  'consumables/TIP-7.yaml': {
    ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'carbide-tip' },
    materialSpecification: { material: 'carbide-tip', revision: 1 },
    ...{ made: [{ receipt: 'R-143', quantity: { value: '1', ucum: '1' } }], machine: MACHINE, by: PEOPLE.operator },
    inUseFrom: '2026-11-06T06:30:00Z',
  },
};

export const PIN_SITE: Readonly<Record<string, Document>> = { ...cellDocuments, ...materials };
/** Certificates of calibration as they came. */
export const PIN_CERTIFICATES: Readonly<Record<string, string>> = Object.fromEntries(
  INSTRUMENTS.map(({ file, text }) => [file, text]),
);

/** The gauge with a certificate in which somebody bettered a value after it was signed. */
export function alteredCertificate(): LotFiles {
  const { document, file, text } = INSTRUMENTS.find((one) => one.document.instrument === DIMENSIONS_GAUGE)!;
  return {
    documents: { [`equipment/${DIMENSIONS_GAUGE}.yaml`]: document },
    texts: { [file]: text.replace('50.0012', '50.0002') },
  };
}

/** Limits of a characteristic of the pins. */
export function limitsOf(characteristic: string): { readonly lower: string; readonly upper: string } {
  const [found] = characteristicsOf([characteristic]);
  return { lower: found!.lower as string, upper: found!.upper as string };
}
