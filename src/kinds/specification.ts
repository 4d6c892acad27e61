import { z } from 'zod';
import {
  Approval,
  Code,
  Day,
  Decimal,
  Format,
  MethodRef,
  Moment,
  PositiveDecimal,
  RecipeStep,
  Share,
  StepAfterBuild,
  Text,
  Ucum,
  ValidationRef,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from './kind.js';
import {
  builtOnStockFaults,
  depositedFaults,
  holdFaults,
  limitsInOrder,
  shapeFaults,
  unmeasuredFaults,
  unnamed,
} from './specification-faults.js';

/** How a set of values decides on units. All plans but `every-unit` let the specimens of a build speak for all its units. */
export const Plan = z.union([
  z.literal('every-unit').describe('each specimen must conform'),
  z.discriminatedUnion('rule', [
    z
      .strictObject({
        rule: z.literal('zero-acceptance'),
        confidence: Share,
        reliability: Share,
        of: z
          .enum(['process', 'lot'])
          .describe('process: n from ln(1 − C)/ln R. lot: n drawn from the units of a build'),
      })
      .describe('n specimens for a confidence and a reliability, none of which may fail'),
    z
      .strictObject({ rule: z.literal('single-sampling'), n: whole(1, 100_000), accept: whole(0, 1000) })
      .describe('n specimens, of which at most `accept` may fail'),
    z
      .strictObject({ rule: z.literal('variables'), n: whole(3, 100_000), k: Decimal })
      .describe('mean and standard deviation of n values against the limits, unknown sigma (MIL-STD-414, section B)'),
    z
      .strictObject({ rule: z.literal('tolerance-interval'), confidence: Share, reliability: Share })
      .describe('mean ± k standard deviations must keep the limits (ISO 16269-6)'),
    z
      .strictObject({
        rule: z.literal('process-validation'),
        validation: Code.describe('process validation that shows it over pooled lots'),
        confidence: Share,
        reliability: Share,
        agreement: Share.describe('probability with which all values of an unmoved process lie within the check'),
      })
      .describe('shown over pooled lots; the values of the lot only check that the process has not moved'),
  ]),
]);
export type Plan = z.infer<typeof Plan>;

export const Characteristic = z.strictObject({
  characteristic: Code.describe('short name used in result sheets'),
  title: Text,
  ucum: Ucum,
  method: MethodRef,
  measuredOn: z.enum(['implant', 'coupon']).describe('on every implant itself, or on the coupons that stand for it'),
  zoneClass: Code.optional().describe('class of the recipe zone that the value speaks for'),
  replicates: whole(1, 1000).describe('values planned per specimen, counted over all its pieces'),
  lower: Decimal.optional(),
  upper: Decimal.optional(),
  target: Decimal.optional(),
  boundary: z
    .enum(['lower', 'upper'])
    .optional()
    .describe(
      'a limit that no value can pass, such as 0 % of porosity: it is no side of an index, which is of the other limit',
    ),
  direction: z.enum(['higher-is-better', 'lower-is-better', 'nominal-is-best']),
  decision: z
    .discriminatedUnion('rule', [
      z.strictObject({ rule: z.literal('simple') }).describe('compares with the limit'),
      z
        .strictObject({
          rule: z.literal('guarded'),
          confidence: Decimal.describe('one-sided probability, such as 0.95, from which the guard band follows'),
        })
        .describe('stays a guard band inside the limit; needs the uncertainty of each value (ISO 14253-1, JCGM 106)'),
    ])
    .describe('how a value decides'),
  rounding: z
    .discriminatedUnion('rule', [
      z.strictObject({ rule: z.literal('absolute') }).describe('compares the value as it was reported'),
      z
        .strictObject({
          rule: z.literal('rounding'),
          place: Decimal.optional().describe('rounding interval, such as 0.1; the last place of the limit when absent'),
        })
        .describe('rounds first, ties to even'),
    ])
    .describe('how a value is rounded before it is compared (ASTM E29)'),
  source: z
    .enum(['measured', 'exposure', 'shape'])
    .optional()
    .describe(
      'where its values come from: result sheets, exposures in a test medium, or scanned shapes; result sheets when absent',
    ),
  deposited: Code.optional().describe(
    'analysis of the deposited metal: property as the certificates of the powder name it; what changed on the way is computed',
  ),
  touchedBy: z
    .array(RecipeStep)
    .min(1)
    .optional()
    .describe('steps whose media, tips and tools touch what is measured: they are shown beside its values'),
  due: z.enum(['before-build', 'before-sterilisation', 'before-release', 'after-release']),
  plan: Plan.describe('how the values together decide on the units of a build'),
  averaging: z
    .literal('mean')
    .optional()
    .describe('the mean of the replicates of a specimen is judged, not each replicate'),
  relies: Code.optional().describe('process validation relied on until a result due after release is there'),
  dueWithinDays: whole(1, 3650).optional().describe('when a result due after release is late: days after the build'),
  retest: z
    .strictObject({
      rule: Text,
      replacements: whole(1, 100).describe('replacement specimens allowed for one specimen'),
    })
    .optional()
    .describe('retest rule, approved with this specification before any data'),
});
export type Characteristic = z.infer<typeof Characteristic>;

export const MaterialLimit = z.strictObject({
  material: Code.describe('material as receipts name it'),
  property: Code.describe('element or property as certificates name it'),
  ucum: Ucum,
  lower: Decimal.optional(),
  upper: Decimal.optional(),
});

export type MaterialLimit = z.infer<typeof MaterialLimit>;

/** A limit of the deposited metal for builds of which no coupon is analysed. */
export const DepositedLimit = z.strictObject({
  property: Code.describe('element or property, as certificates of the powder name it'),
  ucum: Ucum,
  lower: Decimal.optional(),
  upper: Decimal.optional(),
  validation: Code.describe('process validation that says what changes between powder and deposited metal'),
});
export type DepositedLimit = z.infer<typeof DepositedLimit>;

export const PoolingRule = z.strictObject({
  recipeGroups: z.array(Code).min(1),
  machines: z.array(Code).min(1),
  methodRevisions: z.enum(['same', 'any']).describe('same: only values measured by the revision in this specification'),
  from: Day.optional().describe('builds that started earlier are left out'),
  rationale: Text,
});
export type PoolingRule = z.infer<typeof PoolingRule>;

/** What has to be known of the place where new metal meets stock. */
const InterfaceProperty = z.enum(['bond', 'hardness', 'porosity']);
export type InterfaceProperty = z.infer<typeof InterfaceProperty>;
export const INTERFACE_PROPERTIES = InterfaceProperty.options;

/** A share in percent. Nothing at all would be asked with 0. */
const Percent = PositiveDecimal.refine((value) => Number(value) <= 100, { error: 'a percentage above 0, at most 100' });

export const Specification = z.strictObject({
  kind: z.literal('specification'),
  format: Format,
  specification: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  effectiveFrom: Moment,
  approval: Approval.optional(),
  characteristics: z.array(Characteristic).min(1),
  materials: z.array(MaterialLimit).default([]),
  depositedMetal: z
    .array(DepositedLimit)
    .optional()
    .describe('limits of the deposited metal that a validated interval answers for, where no coupon is analysed'),
  holds: z
    .array(
      z.strictObject({
        from: z.enum(['build', ...StepAfterBuild.options]),
        to: StepAfterBuild,
        hours: PositiveDecimal.describe('longest time between the two'),
      }),
    )
    .optional()
    .describe('how long parts may wait between two steps'),
  shelfLifeDays: whole(1, 36_500).optional().describe('days from packing until a unit expires'),
  openPouchHours: PositiveDecimal.optional().describe('how long a pouch may be open in all'),
  unmeasured: z
    .array(z.strictObject({ zoneClass: Code, reason: Text.describe('why nothing is measured there') }))
    .optional()
    .describe('classes of recipe zones for which no characteristic is named'),
  builtOnStock: z
    .strictObject({
      faceHours: PositiveDecimal.optional().describe(
        'longest time from making the face of a stock part ready to closing the chamber',
      ),
      mostChangeMm: PositiveDecimal.optional().describe(
        'how far the surface of a stock part may lie from where it lay before, where nothing was built on it',
      ),
      interface: z
        .array(
          z.union([
            z.strictObject({ tells: InterfaceProperty, characteristic: Code }),
            z.strictObject({ tells: InterfaceProperty, notMeasured: Text.describe('why it is not measured') }),
          ]),
        )
        .min(1)
        .describe('which characteristic tells of what, where new metal meets stock'),
    })
    .optional()
    .describe('what is asked of implants that are built on a stock part'),
  shape: z
    .strictObject({
      leastScannedPercent: Percent.describe(
        'of the surface of each zone that the design asks a profile of: how much a scan has to show',
      ),
      unseen: z
        .array(
          z.strictObject({
            zoneClass: Code,
            leastScannedPercent: Percent.describe('how much a scan has to show there'),
            why: Text.describe('why no scanner sees the rest'),
            shownBy: Code.optional().describe('characteristic that tells of the rest'),
          }),
        )
        .optional()
        .describe('classes of zones of which no scanner sees as much'),
    })
    .optional()
    .describe('how much of a zone a scan has to show; half of it when absent'),
  supportWindow: z
    .literal('decides')
    .optional()
    .describe('decides: a zone outside its support window keeps its implant back; only shown when absent'),
  validations: z.array(ValidationRef).optional().describe('process validations that lots built to it rest on'),
  pooling: PoolingRule.describe('which earlier builds count as history of this family'),
});
export type Specification = z.infer<typeof Specification>;

/** Validations that a characteristic relies on must be named, and a late result must have a day on which it is late. */
function planContradictions(document: Specification, item: Characteristic, field: string): Contradiction[] {
  const named = (document.validations ?? []).map(({ validation }) => validation);
  const found: Contradiction[] = [];
  const { plan, relies, due, dueWithinDays } = item;
  if (plan !== 'every-unit' && plan.rule === 'process-validation' && !named.includes(plan.validation)) {
    found.push(unnamed(plan.validation, `${field}.plan.validation`));
  }
  if (relies !== undefined && !named.includes(relies)) found.push(unnamed(relies, `${field}.relies`));
  if (due === 'after-release' && (relies === undefined || dueWithinDays === undefined)) {
    found.push({
      field: `${field}.due`,
      found: due,
      expected: 'relies and dueWithinDays beside it',
      remedy: 'name the valid process validation relied on until the result is there, and the days until it is late',
    });
  }
  if (plan !== 'every-unit' && plan.rule === 'single-sampling' && plan.accept >= plan.n) {
    found.push({
      field: `${field}.plan.accept`,
      found: String(plan.accept),
      expected: `fewer than the ${plan.n} specimens`,
      remedy: 'correct the acceptance number or the sample size',
    });
  }
  return found;
}

/** Values are better towards the limit that none of them can pass. */
const TOWARDS = { lower: 'lower-is-better', upper: 'higher-is-better' } as const;

/** One limit that no value can pass leaves an index only where there is another one, which is the one to keep away from. */
function boundaryFault({ lower, upper, boundary, direction }: Characteristic, field: string): Contradiction[] {
  if (boundary === undefined) return [];
  if (lower === undefined || upper === undefined) {
    return [
      {
        field: `${field}.boundary`,
        found: `${boundary}, and one limit alone`,
        expected: 'both limits, of which the other one can be missed',
        remedy: 'state both limits, or remove boundary',
      },
    ];
  }
  if (direction === TOWARDS[boundary]) return [];
  return [
    {
      field: `${field}.boundary`,
      found: `${boundary}, and ${direction}`,
      expected: `${TOWARDS[boundary]}, as of values that are best at that limit`,
      remedy: 'correct boundary or direction, or remove boundary',
    },
  ];
}

export const specification = defineKind<Specification>({
  kind: 'specification',
  numbering: 'document',
  purpose: 'What is measured on implants and coupons, against which limits, by which decision and rounding rule.',
  schema: Specification,
  key: (document) => document.specification,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    ...document.characteristics.map((item, index) =>
      tie('measured by', 'method', item.method.method, `characteristics[${index}].method`, {
        revision: item.method.revision,
      }),
    ),
    ...document.pooling.machines.map((machine, index) =>
      tie('pools machine', 'machine', machine, `pooling.machines[${index}]`, { aside: true }),
    ),
    ...(document.validations ?? []).map((item, index) =>
      tie('rests on', 'process-validation', item.validation, `validations[${index}]`, { revision: item.revision }),
    ),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions: (document) => [
    ...holdFaults(document),
    ...depositedFaults(document),
    ...unmeasuredFaults(document),
    ...builtOnStockFaults(document),
    ...shapeFaults(document),
    ...document.characteristics.flatMap((item, index) =>
      planContradictions(document, item, `characteristics[${index}]`),
    ),
    ...repeated(
      document.characteristics.map((item) => item.characteristic),
      (index) => `characteristics[${index}].characteristic`,
      'characteristic',
    ),
    ...repeated(
      document.materials.map((item) => `${item.material} ${item.property}`),
      (index) => `materials[${index}].property`,
      'material limit',
    ),
    ...document.characteristics.flatMap((item, index) => limitsInOrder(item, `characteristics[${index}]`)),
    ...document.materials.flatMap((item, index) => limitsInOrder(item, `materials[${index}]`)),
    ...document.characteristics.flatMap((item, index) => boundaryFault(item, `characteristics[${index}]`)),
    ...document.characteristics.flatMap((item, index) =>
      item.decision.rule === 'guarded' &&
      !(Number(item.decision.confidence) > 0.5 && Number(item.decision.confidence) < 1)
        ? [
            {
              field: `characteristics[${index}].decision.confidence`,
              found: item.decision.confidence,
              expected: 'a confidence between 0.5 and 1',
              remedy: 'write it as a fraction, such as 0.95',
            },
          ]
        : [],
    ),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
