import { instrument } from '../equipment.js';
import { supplier } from '../materials.js';
import { type Document, EFFECTIVE, FICTION, MACHINE, PEOPLE } from '../names.js';
import { recipe } from '../recipe.js';
import { family, specification } from '../specification.js';
import { equivalenceStudy, processValidation } from '../validation.js';

/**
 * Plates of which the support windows decide, zone by zone: what they need before their first lot. Their rates are computed from
 * exposures in a medium, and no value of degradation is typed.
 */
export const WINDOW_FAMILY = 'RADIUS-PLATE';
export const WINDOW_SPECIFICATION = { specification: 'RP-SPEC', revision: 1 };
export const WINDOW_RECIPE = { recipe: 'RP-RECIPE', revision: 1 };
export const WINDOW_STUDY = { study: 'EQ-6', revision: 1 };
export const IMMERSION = { method: 'TM-LONG', revision: 1 };
export const MEDIUM = { medium: 'BF-37', revision: 1 };
export const BATCH = 'BF-37-08';
export const TIP = 'TIP-5';
/** Weeks after which pieces are taken out; the last are those of the method, and their rates are judged. */
export const WEEKS = [2, 4, 8, 12] as const;
const VALIDATION = { validation: 'PV-4', revision: 1 };
const GROUP = 'radius-plates';
const SUPPLIER = 'KUGELWERK';

/** Signed where they come in: nothing claims an approval. */
const without = ({ approval: _, ...document }: Document): Document => document;

const characteristic = (of: string, change: Document): Document => ({
  ...(specification.characteristics as readonly Document[]).find((item) => item.characteristic === of)!,
  ...change,
});
const ofRing = { zoneClass: 'screw-hole' };

const windowSpecification: Document = {
  ...{ kind: 'specification', format: 1, ...WINDOW_SPECIFICATION, title: `Radius plate, ${FICTION}` },
  ...{ family: WINDOW_FAMILY, effectiveFrom: EFFECTIVE, supportWindow: 'decides' },
  characteristics: [
    characteristic('rm', {}),
    characteristic('rm', { characteristic: 'rm-ring', title: 'Tensile strength, rings', lower: '205', ...ofRing }),
    characteristic('rate', { method: IMMERSION, source: 'exposure', upper: '0.40' }),
    characteristic('rate', {
      ...{ characteristic: 'rate-ring', title: 'Degradation rate on the bench, rings', ...ofRing },
      ...{ method: IMMERSION, source: 'exposure', upper: '0.60' },
    }),
    characteristic('stress', {
      ...{ characteristic: 'sfe', title: 'Iron on the peened surface', ucum: '%', upper: '0.02', replicates: 1 },
      ...{ method: { method: 'TM-XRF', revision: 1 }, touchedBy: ['peen'], plan: 'every-unit' },
    }),
  ],
  materials: specification.materials,
  validations: [VALIDATION],
  pooling: { ...(specification.pooling as Document), recipeGroups: [GROUP], from: '2026-08-01' },
};

const windowFamily: Document = {
  ...without(family),
  ...{ family: WINDOW_FAMILY, title: `Resorbable radius plate, ${FICTION}`, model: 'Radius plate (fictional)' },
  ...{ sterile: 'non-sterile', effectiveFrom: EFFECTIVE },
  // The section of every zone, and the window of a case that states none.
  support: {
    ...{ shape: 'plate', sizeMm: '1.5', weeks: 8, strengthLeft: '0.7', rate: 'rate' },
    basis: 'bridging of the break in eight weeks (fictional)',
  },
};

const received = (receipt: string, material: string, category: string, quantity: Document): Document => ({
  ...{ kind: 'receipt', format: 1, receipt, supplier: SUPPLIER, material, category, supplierLot: `KW-${receipt}` },
  ...{ receivedAt: '2026-07-28T09:00:00Z', status: 'accepted', quantity },
  acceptance: { by: PEOPLE.quality, at: '2026-07-29T09:00:00Z' },
});

/** Documents that the cell had from its start. */
export const WINDOW_DOCUMENTS: Readonly<Record<string, Document>> = {
  'families/radius-plate.yaml': windowFamily,
  'specifications/RP-SPEC-1.yaml': windowSpecification,
  'recipes/RP-RECIPE-1.yaml': {
    ...without(recipe),
    ...{ ...WINDOW_RECIPE, title: `Radius plate, ${FICTION}`, group: GROUP, family: WINDOW_FAMILY },
    zones: (recipe.zones as readonly Document[]).filter(({ zone }) => zone !== 'skin'),
  },
  'validations/PV-4.yaml': {
    ...without(processValidation),
    ...{ ...VALIDATION, title: `Hybrid build of radius plates, ${FICTION}`, family: WINDOW_FAMILY },
    ...{ recipeGroups: [GROUP], shown: [] },
  },
  'studies/EQ-6.yaml': {
    ...without(equivalenceStudy),
    ...{ ...WINDOW_STUDY, title: `Coupons beside radius plates, ${FICTION}`, family: WINDOW_FAMILY },
    ...{ recipeGroups: [GROUP], zoneClasses: ['load-bearing', 'screw-hole'], differences: [] },
    ...{ characteristics: ['rm', 'rm-ring', 'rate', 'rate-ring', 'sfe'], report: 'EQ-6-R1' },
    conclusion: 'Neither strength nor loss of coupons differs from that of pieces cut from plates (fictional).',
  },
  'methods/TM-LONG.yaml': {
    ...{ kind: 'method', format: 1, ...IMMERSION, title: 'Immersion up to twelve weeks, mass loss and deepest attack' },
    ...{ standard: 'ASTM G31, ASTM G1, ASTM F3268', destructive: 'destructive', operation: 'mass loss' },
    ...{ duration: { hours: '2016', within: '6' }, mediumMlPerCm2: '25', effectiveFrom: EFFECTIVE },
    exposureTells: ['pH.most', 'pH.end', 'control', 'massG.blankLoss', 'deepestUm'],
  },
  'methods/TM-XRF.yaml': {
    ...{ kind: 'method', format: 1, method: 'TM-XRF', revision: 1, title: 'Iron on a surface by X-ray fluorescence' },
    ...{
      standard: 'in-house',
      destructive: 'non-destructive',
      operation: 'chemical analysis',
      effectiveFrom: EFFECTIVE,
    },
  },
  'equipment/XRF-1.yaml': instrument(
    {
      ...{ code: 'XRF-1', title: 'X-ray fluorescence spectrometer', measures: 'elements of a surface' },
      calibrations: [{ at: '2025-09-02', due: '2026-09-02' }],
    },
    '2025-09-19',
  ),
};

/** What came before the first build. */
export const WINDOW_SITE: Readonly<Record<string, Document>> = {
  'media/BF-37.yaml': {
    ...{
      kind: 'test-medium',
      format: 1,
      ...MEDIUM,
      title: `Buffered body fluid, ${FICTION}`,
      effectiveFrom: EFFECTIVE,
    },
    components: [
      { component: 'NaCl', amount: '6.8', ucum: 'g/L' },
      { component: 'NaHCO3', amount: '2.2', ucum: 'g/L' },
      { component: 'CaCl2', amount: '0.2', ucum: 'g/L' },
    ],
    ...{ buffer: 'carbon dioxide and bicarbonate', gas: '5 % CO2 in air', proteins: 'none' },
    pH: { min: '7.35', max: '7.45' },
  },
  'suppliers/KUGELWERK.yaml': supplier(SUPPLIER, 'Kugelwerk', 'peening tips and salts'),
  'receipts/R-151.yaml': received('R-151', 'steel-tip', 'tool', { value: '12', ucum: '1' }),
  'receipts/R-152.yaml': received('R-152', 'salts', 'chemical', { value: '5', ucum: 'kg' }),
  'consumables/TIP-5.yaml': {
    ...{ kind: 'consumable', format: 1, consumable: TIP, category: 'tip', material: 'steel-tip', machine: MACHINE },
    made: [{ receipt: 'R-151', quantity: { value: '1', ucum: '1' } }],
    ...{ by: PEOPLE.operator, inUseFrom: '2026-07-30T09:00:00Z' },
  },
};
