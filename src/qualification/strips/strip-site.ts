import { instrument, machineOn } from '../equipment.js';
import { powder, powderReceipt } from '../materials.js';
import { APPROVED, type Document, EFFECTIVE, FICTION } from '../names.js';
import { recipe } from '../recipe.js';
import { capabilityPlan, family, specification } from '../specification.js';

/** A third family, built on two machines for a year before this program came: its lots are brought in in bulk. */
export const STRIP_FAMILY = 'RIB-STRIP';
export const STRIP_SPECIFICATION = { specification: 'RS-SPEC', revision: 1 };
export const STRIP_GROUP = 'rib-strips';
export const STRIP_CELLS = [
  { machine: 'HC-3', recipe: { recipe: 'RS-RECIPE-3', revision: 1 } },
  { machine: 'HC-4', recipe: { recipe: 'RS-RECIPE-4', revision: 1 } },
] as const;
export const FIRST_POWDER = 'PS-31';
export const BLEND = 'PS-32';
/** The first day on which the blend was built. */
export const BLENDED = '2026-04-01';
/** The day on which a new probe was put on the gauge of flatness, and calibrated. */
export const NEW_PROBE = '2026-03-06';

const every = { measuredOn: 'implant', replicates: 1, decision: { rule: 'simple' }, rounding: { rule: 'absolute' } };

const characteristic = (code: string, title: string, ucum: string, limits: Document): Document => ({
  ...{ characteristic: code, title, ucum, method: { method: `TM-${code.toUpperCase()}`, revision: 1 } },
  ...every,
  ...limits,
  due: 'before-release',
  plan: 'every-unit',
});

/** The step, the drift, the worse gauge, and what stays quiet. */
export const STRIP_CHARACTERISTICS = [
  characteristic('hv', 'Hardness', '1', { lower: '55', direction: 'higher-is-better' }),
  characteristic('width', 'Width of the strip', 'mm', {
    ...{ lower: '3.85', upper: '4.15', target: '4.00', direction: 'nominal-is-best' },
  }),
  characteristic('flat', 'Flatness', 'um', { upper: '45', direction: 'lower-is-better' }),
  characteristic('dens', 'Density', 'g/cm3', { lower: '1.765', direction: 'higher-is-better' }),
] as const;

const stripSpecification: Document = {
  ...specification,
  ...STRIP_SPECIFICATION,
  title: `Rib strip, ${FICTION}`,
  family: STRIP_FAMILY,
  characteristics: STRIP_CHARACTERISTICS,
  validations: [],
  unmeasured: [],
  pooling: {
    ...(specification.pooling as Document),
    recipeGroups: [STRIP_GROUP],
    machines: STRIP_CELLS.map(({ machine }) => machine),
    rationale: `two machines of one make, one recipe group (${FICTION})`,
  },
};

const TITLES: Readonly<Record<string, string>> = {
  hv: 'Vickers hardness in the middle of the strip',
  width: 'Width at five places',
  flat: 'Flatness by a touch probe',
  dens: 'Density by weighing in air and alcohol',
};

const methods = Object.fromEntries(
  STRIP_CHARACTERISTICS.map((item) => {
    const { method } = item.method as { readonly method: string };
    return [
      `methods/${method}.yaml`,
      {
        ...{ kind: 'method', format: 1, method, revision: 1, title: TITLES[item.characteristic as string]! },
        ...{ standard: 'in-house', destructive: 'non-destructive', operation: 'dimensions' },
        ...{ effectiveFrom: EFFECTIVE, approval: APPROVED },
      },
    ];
  }),
);

export const GAUGES: Readonly<Record<string, string>> = { hv: 'HV-1', width: 'MIC-5', flat: 'CMM-1', dens: 'BAL-5' };

/** The gauges with the calibrations that they had had by a day. */
export const gauges = (day: string): Record<string, Document> =>
  Object.fromEntries(
    Object.entries(GAUGES).map(([code, gauge]) => {
      const first = { at: '2025-09-03', due: '2026-12-03' };
      const again = code === 'flat' ? [{ at: NEW_PROBE, due: '2026-12-06' }] : [];
      const facts = { code: gauge, title: `Gauge of ${TITLES[code]!.toLowerCase()}`, measures: TITLES[code]! };
      return [`equipment/${gauge}.yaml`, instrument({ ...facts, calibrations: [first, ...again] }, day)];
    }),
  );

/** A machine of the strips, with what had been done to it by a day. It lies with the gauges. */
export const stripCell = (machine: string, day: string): Record<string, Document> => ({
  [`equipment/${machine}.yaml`]: { ...machineOn(day), machine, title: `Hybrid cell ${machine} (${FICTION})` },
});

/** What the two cells had at the start. */
export const stripSite: Record<string, Document> = {
  ...methods,
  'families/rib-strip.yaml': { ...family, family: STRIP_FAMILY, title: `Resorbable rib strip, ${FICTION}` },
  'specifications/RS-SPEC-1.yaml': stripSpecification,
  ...Object.fromEntries(
    STRIP_CELLS.map(({ machine, recipe: name }) => [
      `recipes/${name.recipe}.yaml`,
      {
        ...recipe,
        ...name,
        machine,
        family: STRIP_FAMILY,
        group: STRIP_GROUP,
        title: `Rib strip on ${machine}, ${FICTION}`,
      },
    ]),
  ),
  'receipts/R-301.yaml': powderReceipt({
    ...{ code: 'R-301', heat: 'H6604', received: '2025-09-12', iron: '0.0019', zinc: '0.44', calcium: '0.45' },
  }),
  'powder/PS-31.yaml': powder(FIRST_POWDER, 'fill', '2025-09-18', [{ receipt: 'R-301', massG: '6000' }], '55'),
};

/** What came in the course of the year. */
export const stripSiteLater: Record<string, Document> = {
  'receipts/R-302.yaml': powderReceipt({
    ...{ code: 'R-302', heat: 'H7120', received: '2026-03-20', iron: '0.0034', zinc: '0.38', calcium: '0.37' },
  }),
  'powder/PS-32.yaml': powder(
    BLEND,
    'blend',
    '2026-03-30',
    [
      { state: FIRST_POWDER, massG: '2500' },
      { receipt: 'R-302', massG: '2500' },
    ],
    '81',
  ),
};

/** Each rule costs false signals: a chart has those that find what it is watched for. */
const RULES: Readonly<Record<string, readonly string[]>> = {
  hv: ['nineOneSide'],
  width: ['ewma'],
  flat: ['movingRange'],
  dens: ['nineOneSide'],
};

/** One for each characteristic, with the lots of the first three months as its baseline. */
export const stripPlans: Record<string, Document> = Object.fromEntries(
  STRIP_CHARACTERISTICS.map((item) => {
    const plan = `SP-${(item.characteristic as string).toUpperCase()}`;
    return [
      `plans/${plan}.yaml`,
      {
        ...capabilityPlan(plan, item as never),
        title: `${item.title} of rib strips, ${FICTION}`,
        family: STRIP_FAMILY,
        specification: STRIP_SPECIFICATION,
        pools: {
          alloy: family.alloy,
          machines: STRIP_CELLS.map(({ machine }) => machine),
          recipeGroups: [STRIP_GROUP],
          zoneClasses: ['load-bearing'],
          methods: [item.method],
        },
        baseline: { from: '2025-10-01', to: '2026-01-07' },
        runRules: RULES[item.characteristic as string]!,
        target: '1.33',
        effectiveFrom: '2026-01-17T10:00:00Z',
      },
    ];
  }),
);
