import { instrument, upkeep } from '../equipment.js';
import { argon, powder, powderReceipt, supplier } from '../materials.js';
import { type Document, FICTION, PEOPLE } from '../names.js';
import { recipe } from '../recipe.js';
import { family, specification } from '../specification.js';
import { equivalenceStudy, processValidation } from '../validation.js';
import {
  COATED_ENVELOPE,
  COATED_FAMILY,
  COATED_FROM,
  COATED_GROUP,
  COATED_RECIPE,
  COATED_SPECIFICATION,
  COATED_STUDY,
  COATED_VALIDATION,
  COATER,
  DESIGN_PROGRAM,
  DEVICE_TYPE,
  PATH_PROGRAM,
  PATH_VERSION,
  SEALER,
  SECOND_MACHINE,
  STERILISER,
} from './names.js';

/** Signed where they come in: nothing claims an approval. */
const without = ({ approval: _, ...document }: Document): Document => document;

/** A characteristic of the first family, with what is different here. */
const characteristic = (code: string, change: Document): Document => ({
  ...(specification.characteristics as readonly Document[]).find((item) => item.characteristic === code)!,
  ...change,
});

const coatedSpecification: Document = {
  ...without(specification),
  ...COATED_SPECIFICATION,
  title: `Coated plate, ${FICTION}`,
  family: COATED_FAMILY,
  effectiveFrom: COATED_FROM,
  characteristics: [
    characteristic('rm', {
      due: 'before-sterilisation',
      retest: { rule: 'one spare coupon for a coupon whose test failed as a test (fictional)', replacements: 1 },
    }),
    characteristic('thickness', { due: 'before-sterilisation' }),
    characteristic('sa', { due: 'before-sterilisation' }),
    characteristic('sa', {
      characteristic: 'coat',
      title: 'Thickness of the coating',
      ucum: 'um',
      method: { method: 'TM-COAT', revision: 1 },
      lower: '4.0',
      upper: '12.0',
      direction: 'nominal-is-best',
      due: 'before-sterilisation',
    }),
    characteristic('rate', {
      due: 'after-release',
      dueWithinDays: 90,
      relies: COATED_VALIDATION.validation,
    }),
  ],
  validations: [COATED_VALIDATION],
  holds: [
    { from: 'build', to: 'clean', hours: '24' },
    { from: 'clean', to: 'dry', hours: '4' },
    { from: 'pack', to: 'sterilise', hours: '120' },
  ],
  openPouchHours: '2',
  shelfLifeDays: 365,
  pooling: {
    ...(specification.pooling as Document),
    recipeGroups: [COATED_GROUP],
    machines: [SECOND_MACHINE],
    from: '2026-09-01',
  },
};

const coatedFamily: Document = {
  ...without(family),
  family: COATED_FAMILY,
  title: `Coated resorbable plate, ${FICTION}`,
  model: 'Coated plate (fictional)',
  laws: [
    { law: 'EU', route: 'custom-made', class: 'III' },
    { law: 'US', route: 'custom-made', deviceType: DEVICE_TYPE },
  ],
  effectiveFrom: COATED_FROM,
};

export const envelope: Document = {
  kind: 'design-envelope',
  format: 1,
  ...COATED_ENVELOPE,
  title: `Envelope of coated plates, ${FICTION}`,
  family: COATED_FAMILY,
  parameters: [
    { parameter: 'length', ucum: 'mm', min: '18', max: '60' },
    { parameter: 'width', ucum: 'mm', min: '4', max: '9' },
  ],
  sites: ['zygomatic arch', 'mandible, angle', 'orbital rim'],
  sides: ['left', 'right'],
  imageAgeDays: 180,
  effectiveFrom: COATED_FROM,
};

const permission = (code: string, change: Document): Document => ({
  kind: 'route-permission',
  format: 1,
  permission: code,
  revision: 1,
  family: COATED_FAMILY,
  route: 'custom-made',
  scope: 'custom-made coated plates (fictional)',
  sites: (family.manufacturer as { sites: readonly string[] }).sites,
  from: '2026-01-01',
  ...change,
});

/** The first revision ends two days before the lot is to go. */
export const usPermission = (revision: 1 | 2): Document =>
  permission('RP-US', {
    revision,
    title: `Custom-made under the law US, ${FICTION}`,
    law: 'US',
    deviceType: DEVICE_TYPE,
    ...(revision === 1 ? { to: '2026-10-18' } : { from: '2026-10-19', to: '2027-10-18' }),
    answers: [
      { condition: 'no device on the market treats the condition', answer: 'met', grounds: 'by the order (fictional)' },
      { condition: 'made on the order of one physician', answer: 'met', grounds: 'by the order (fictional)' },
    ],
  });

const euPermission = permission('RP-EU', {
  title: `Custom-made under the law EU, ${FICTION}`,
  law: 'EU',
  body: 'Example Body 0000 (fictional)',
  number: 'EX-2026-031',
  to: '2030-06-30',
  cardDecision: { card: 'no', why: 'plates are exempt (Regulation (EU) 2017/745 article 18)' },
});

const powderOrder: Document = {
  kind: 'material-specification',
  format: 1,
  material: 'MgZnCa-powder',
  revision: 1,
  title: 'magnesium alloy powder',
  category: 'powder',
  lines: [
    { property: 'Zn', ucum: '%', lower: '0.35', upper: '0.55', from: 'certificate' },
    { property: 'D50', ucum: 'um', lower: '60', upper: '95', from: 'certificate' },
    { property: 'moisture', ucum: 'ug/g', upper: '120', from: 'own test' },
  ],
  certificateTypes: ['3.1'],
  reuseLimit: 8,
  balancePercent: '2',
  effectiveFrom: '2026-08-01T00:00:00Z',
};

const orderedPowder: Document = {
  ...powderReceipt({
    code: 'R-131',
    heat: 'H8120',
    received: '2026-08-26',
    iron: '0.0019',
    zinc: '0.45',
    calcium: '0.46',
  }),
  materialSpecification: { material: 'MgZnCa-powder', revision: 1 },
  labelLot: 'SB-H8120-A',
  container: { sealed: 'yes', desiccantTouches: 'no' },
};

const secondMachine: Document = {
  kind: 'machine',
  format: 1,
  machine: SECOND_MACHINE,
  title: `Hybrid cell 2 (${FICTION})`,
  location: 'laboratory 3',
  does: ['deposit', 'peen', 'mill'],
  operation: 'hybrid build',
  clearance: 'yes',
  upkeep: upkeep('2026-08-20', '2027-02-20'),
};

const calibrations = [{ at: '2026-08-20', due: '2027-08-20' }];
const sensor = (code: string, title: string, measures: string): Document =>
  instrument({ code, title, measures, calibrations }, '2026-08-31');

const coatingMethod: Document = {
  kind: 'method',
  format: 1,
  method: 'TM-COAT',
  revision: 1,
  title: 'Thickness of the coating, by eddy current at five places',
  standard: 'in-house',
  destructive: 'non-destructive',
  operation: 'dimensions',
  effectiveFrom: COATED_FROM,
};

const program = (of: typeof DESIGN_PROGRAM, title: string, version: string, use: string): Document => ({
  ...{ kind: 'software', format: 1, ...of, title: `${title} (fictional)`, version, use },
  validatedBy: { report: `SV-${of.software}-${version}`, on: '2026-08-20', by: PEOPLE.process },
});

/** What the second cell had before its first lot; the order for the powder stood before it came. */
export const COATED_SITE: readonly { readonly at: string; readonly documents: Record<string, Document> }[] = [
  { at: '2026-08-24T15:00:00Z', documents: { 'materials/powder.yaml': powderOrder } },
  {
    at: '2026-08-31T15:00:00Z',
    documents: {
      'families/coated-plate.yaml': coatedFamily,
      'specifications/CP-SPEC-1.yaml': coatedSpecification,
      'recipes/CP-RECIPE-1.yaml': {
        ...without(recipe),
        ...COATED_RECIPE,
        title: `Coated plate, ${FICTION}`,
        group: COATED_GROUP,
        family: COATED_FAMILY,
        machine: SECOND_MACHINE,
        software: [PATH_PROGRAM],
        effectiveFrom: COATED_FROM,
      },
      'validations/PV-2.yaml': {
        ...without(processValidation),
        ...COATED_VALIDATION,
        title: `Hybrid build of coated plates, ${FICTION}`,
        family: COATED_FAMILY,
        machine: SECOND_MACHINE,
        recipeGroups: [COATED_GROUP],
        validFrom: COATED_FROM,
        validUntil: '2028-08-31T00:00:00Z',
      },
      'studies/EQ-4.yaml': {
        ...without(equivalenceStudy),
        ...COATED_STUDY,
        title: `Coupons beside coated plates, ${FICTION}`,
        family: COATED_FAMILY,
        machine: SECOND_MACHINE,
        recipeGroups: [COATED_GROUP],
        report: 'EQ-4-R1',
        validFrom: COATED_FROM,
      },
      'envelopes/CP-ENV-1.yaml': envelope,
      'permissions/RP-EU-1.yaml': euPermission,
      'permissions/RP-US-1.yaml': usPermission(1),
      'software/PLATE-PLANNER-1.yaml': program(DESIGN_PROGRAM, 'Plate planner', '3.2', 'from images to models'),
      'software/PATHS-1.yaml': program(
        PATH_PROGRAM,
        'Path writer',
        PATH_VERSION,
        'from models to paths of the machine',
      ),
      'methods/TM-COAT.yaml': coatingMethod,
      'equipment/HC-2.yaml': secondMachine,
      'equipment/PK-1.yaml': {
        kind: 'machine',
        format: 1,
        machine: SEALER,
        title: `Pouch sealer (${FICTION})`,
        location: 'clean room',
        does: ['pack'],
      },
      'equipment/OX-2.yaml': sensor('OX-2', 'Oxygen sensor of the second chamber', 'oxygen in argon, by volume'),
      'equipment/HYG-2.yaml': sensor('HYG-2', 'Hygrometer of the second chamber', 'moisture in argon, by volume'),
      'equipment/HYG-3.yaml': sensor('HYG-3', 'Hygrometer of the dry store', 'relative humidity'),
      'equipment/EC-1.yaml': sensor('EC-1', 'Eddy current gauge', 'thickness of coatings'),
      'suppliers/VERNIX.yaml': supplier(COATER, 'Vernix Coatings', 'coating'),
      'suppliers/GAMMAPORT.yaml': supplier(STERILISER, 'Gammaport', 'gamma sterilisation'),
      'receipts/R-131.yaml': orderedPowder,
      'receipts/R-132.yaml': argon('R-132', '2026-08-27'),
      'powder/PS-11.yaml': powder('PS-11', 'fill', '2026-08-31', [{ receipt: 'R-131', massG: '5000' }], '54'),
    },
  },
];
