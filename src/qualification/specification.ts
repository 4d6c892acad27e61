import {
  APPROVED,
  type Document,
  EFFECTIVE,
  FAMILY,
  FICTION,
  MACHINE,
  RECIPE_GROUP,
  SPECIFICATION,
  VALIDATION,
} from './names.js';

const ALLOY = 'Mg–Zn–Ca, lean (fictional)';
const simple = { decision: { rule: 'simple' }, due: 'before-release', plan: 'every-unit' };
const absolute = { rounding: { rule: 'absolute' } };
const rounded = { rounding: { rule: 'rounding' } };

export const specification: Document = {
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
      plan: {
        rule: 'process-validation',
        validation: VALIDATION.validation,
        confidence: '0.95',
        reliability: '0.95',
        agreement: '0.999',
      },
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
  unmeasured: [
    {
      zoneClass: 'screw-hole',
      reason: 'the ring bears on the screw head over its whole face, and no coupon of it can be cut (fictional)',
    },
  ],
  validations: [VALIDATION],
  pooling: {
    recipeGroups: [RECIPE_GROUP],
    machines: [MACHINE],
    methodRevisions: 'same',
    from: '2025-10-01',
    rationale: `one machine, one recipe group, one revision of each method (${FICTION})`,
  },
};

/** The zone classes of the recipe, in any of which a characteristic may be measured. */
const ZONE_CLASSES = ['load-bearing', 'contour-skin'];

/** A plan for one characteristic of this family: its baseline is the first ten months, and fixes the limits of the charts after it. */
export const capabilityPlan = (plan: string, { characteristic, title, method }: PlannedCharacteristic): Document => ({
  kind: 'capability-plan',
  format: 1,
  plan,
  revision: 1,
  title: `${title} of bridge plates, ${FICTION}`,
  family: FAMILY,
  specification: SPECIFICATION,
  characteristic,
  pools: {
    alloy: ALLOY,
    machines: [MACHINE],
    recipeGroups: [RECIPE_GROUP],
    zoneClasses: ZONE_CLASSES,
    methods: [method],
  },
  subgroup: 'none',
  standardise: 'no',
  baseline: { from: '2025-10-01', to: '2026-07-31' },
  runRules: ['nineOneSide', 'sixSteady'],
  distribution: { name: 'normal', why: `seen in the probability plot of the validation (${FICTION})` },
  confidence: '0.95',
  effectiveFrom: '2026-08-17T00:00:00+02:00',
});

/** One for each characteristic. */
export const capabilityPlans: Record<string, Document> = Object.fromEntries(
  (specification.characteristics as readonly PlannedCharacteristic[]).map((item) => {
    const plan = `CP-${item.characteristic.toUpperCase()}`;
    return [`plans/${plan}.yaml`, capabilityPlan(plan, item)];
  }),
);

interface PlannedCharacteristic {
  readonly characteristic: string;
  readonly title: string;
  readonly method: { readonly method: string; readonly revision: number };
}

export const family: Document = {
  kind: 'family',
  format: 1,
  family: FAMILY,
  revision: 1,
  title: `Resorbable bridge plate, ${FICTION}`,
  alloy: ALLOY,
  intendedUse: 'none: invented for a demonstration',
  route: 'custom-made',
  classEu: 'III, wholly absorbed (Regulation (EU) 2017/745 Annex VIII rule 8)',
  sterile: 'sterile',
  manufacturer: {
    name: 'Fjordmark Implants (fictional)',
    address: 'Strandgate 1, 0001 Fjordmark (fictional)',
    sites: ['Strandgate 1, 0001 Fjordmark (fictional): building, peening, milling, cleaning'],
    responsiblePerson: 'Dr A. Example, person responsible for regulatory compliance (fictional)',
  },
  bodyCertificate: {
    body: 'Example Body 0000 (fictional)',
    number: 'EX-2025-017',
    scope: 'quality system for implantable class III custom-made devices',
    expiry: '2030-06-30',
  },
  conformity: { exceptions: [], substances: 'none' },
  support: {
    shape: 'plate',
    sizeMm: '1.5',
    weeks: 12,
    strengthLeft: '0.6',
    rate: 'rate',
    localisationFactor: '1.5',
    basis: 'bridging of the fracture in twelve weeks (fictional)',
  },
  lifetime: { years: 6, basis: 'implantation until absorption and follow-up (fictional)' },
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
};
