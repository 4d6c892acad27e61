import { z } from 'zod';
import { DISTRIBUTIONS } from '../../base/distribution-names.js';
import { CHART_RULES, RUN_RULES } from '../../base/run-rule-names.js';
import { endsTooEarly } from '../contradictions.js';
import {
  Approval,
  Code,
  Day,
  Decimal,
  Format,
  MethodRef,
  Moment,
  PositiveDecimal,
  Share,
  SpecificationRef,
  Text,
  whole,
} from '../fields.js';
import { approvedBy, type Contradiction, defineKind, originalOf, repeated, tie } from '../kind.js';
import { tiesToCodes } from '../references.js';

const Codes = z.array(Code).min(1);

const Pools = z.strictObject({
  alloy: Text.describe('alloy as the family names it'),
  machines: Codes,
  recipeGroups: Codes,
  zoneClasses: Codes,
  methods: z.array(MethodRef).min(1).describe('revisions of methods whose values are one thing'),
  medium: Code.optional().describe('test medium, for values of degradation'),
  exposure: Text.optional().describe('how long it lay in the medium, for values of degradation: 336 h, 14 d or 2 wk'),
  face: Code.optional().describe('surface, by the word that exposures use'),
  sterilised: z
    .enum(['yes', 'no'])
    .optional()
    .describe('whether specimens were sterilised before they were exposed, for values of degradation'),
  flow: Text.optional().describe('at rest, or mL/min past the specimen, for values of degradation'),
  gas: Text.optional().describe('gas above the medium as exposures name it, or none, for values of degradation'),
  temperatureC: Decimal.optional().describe(
    'temperature of the medium, °C, for values of degradation: those that are at most 1 °C off',
  ),
});

/** Words of a plan for a medium that does not flow, and for no other gas than that of the medium. */
export const AT_REST = 'at rest';
export const NO_GAS = 'none';
const FLOW = /^(at rest|\d+(\.\d+)?)$/;

const DURATION = /^\d+(\.\d+)? ?(h|d|wk)$/;

const KNOWN_DISTRIBUTIONS: readonly string[] = DISTRIBUTIONS;
/** Below the first a lower bound lies above the index; beyond the last nobody can tell it from certainty. */
const CONFIDENCE = { least: 0.5, most: 0.9999 };
const KNOWN_RULES: readonly string[] = [...RUN_RULES, ...CHART_RULES];

export const CapabilityPlan = z.strictObject({
  kind: z.literal('capability-plan'),
  format: Format,
  plan: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  specification: SpecificationRef,
  characteristic: Code,
  pools: Pools.describe('which values may be looked at together'),
  subgroup: z.enum(['build', 'lot', 'none']).describe('what makes one point of the chart'),
  standardise: z
    .enum(['no', 'deviation from nominal', 'by type'])
    .describe(
      'how types of part are brought together, each judged by a specification of its own: no, as they are; as deviations from the target of each; by type, against target and spread of each',
    ),
  baseline: z
    .strictObject({ from: Day, to: Day })
    .optional()
    .describe('builds whose values fix the limits of the chart; none fixed yet when absent'),
  runRules: Codes.describe('names of the run rules and charts that make a signal, as calculations name them'),
  distribution: z.strictObject({ name: Code, why: Text }),
  confidence: Share.describe('of the lower bound of an index'),
  target: PositiveDecimal.optional().describe('least index that is to be shown'),
  outcomeDays: whole(0, 365)
    .optional()
    .describe('days in which a signal gets its outcome; later the first page names it. 14 when absent'),
  gaugeStudy: Text.optional().describe('study that shows what share of the spread is of the measurement'),
  gaugeSd: PositiveDecimal.optional().describe(
    'standard deviation of the measurement by that study, repeatability and reproducibility together, in the unit of the characteristic',
  ),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type CapabilityPlan = z.infer<typeof CapabilityPlan>;

function contradictions({
  pools,
  runRules,
  baseline,
  distribution,
  confidence,
  gaugeStudy,
  gaugeSd,
}: CapabilityPlan): Contradiction[] {
  const lists = {
    'pools.machines': pools.machines,
    'pools.recipeGroups': pools.recipeGroups,
    'pools.zoneClasses': pools.zoneClasses,
    'pools.methods': pools.methods.map(({ method, revision }) => `${method} revision ${revision}`),
    runRules,
  };
  return [
    ...Object.entries(lists).flatMap(([name, values]) => repeated(values, (index) => `${name}[${index}]`, 'entry')),
    ...runRules.flatMap((name, index) =>
      KNOWN_RULES.includes(name)
        ? []
        : [
            {
              field: `runRules[${index}]`,
              found: JSON.stringify(name),
              expected: `a run rule or chart: ${KNOWN_RULES.join(', ')}`,
              remedy: 'write the name of a rule that the chart knows, or remove it',
            },
          ],
    ),
    ...(KNOWN_DISTRIBUTIONS.includes(distribution.name)
      ? []
      : [
          {
            field: 'distribution.name',
            found: JSON.stringify(distribution.name),
            expected: `a distribution: ${KNOWN_DISTRIBUTIONS.join(', ')}`,
            remedy: 'write one of these, with the reason why values follow it',
          },
        ]),
    ...(Number(confidence) >= CONFIDENCE.least && Number(confidence) <= CONFIDENCE.most
      ? []
      : [
          {
            field: 'confidence',
            found: confidence,
            expected: `a share from ${CONFIDENCE.least} to ${CONFIDENCE.most}, such as 0.95`,
            remedy: 'write how sure the lower bound is to hold',
          },
        ]),
    ...endsTooEarly('baseline.to', baseline?.to, baseline?.from),
    ...(gaugeSd !== undefined && gaugeStudy === undefined
      ? [
          {
            field: 'gaugeStudy',
            found: 'no study, although gaugeSd says what it found',
            expected: 'the study that found it',
            remedy: 'name the study, or remove gaugeSd',
          },
        ]
      : []),
    ...(pools.flow === undefined || FLOW.test(pools.flow)
      ? []
      : [
          {
            field: 'pools.flow',
            found: JSON.stringify(pools.flow),
            expected: `${AT_REST}, or mL/min as a number`,
            remedy: 'write one of these, or remove the field',
          },
        ]),
    ...(pools.exposure === undefined || DURATION.test(pools.exposure.trim())
      ? []
      : [
          {
            field: 'pools.exposure',
            found: JSON.stringify(pools.exposure),
            expected: 'a duration: 336 h, 14 d or 2 wk',
            remedy: 'write the number and its unit, or remove the field',
          },
        ]),
  ];
}

export const capabilityPlan = defineKind<CapabilityPlan>({
  kind: 'capability-plan',
  numbering: 'document',
  purpose: 'How one characteristic of a family is followed over its builds: pools, chart, baseline, rules, and index.',
  schema: CapabilityPlan,
  key: (document) => document.plan,
  name: (document) => document.title,
  links: ({ family, specification, pools, approval }) => [
    tie('of family', 'family', family, 'family', { aside: true }),
    tie('for specification', 'specification', specification.specification, 'specification', {
      revision: specification.revision,
      aside: true,
    }),
    ...tiesToCodes('pools machine', 'machine', pools.machines, 'pools.machines', { aside: true }),
    ...pools.methods.map(({ method, revision }, index) =>
      tie('pools', 'method', method, `pools.methods[${index}]`, { revision, aside: true }),
    ),
    ...(pools.medium === undefined ? [] : [tie('pools', 'test-medium', pools.medium, 'pools.medium', { aside: true })]),
    ...approvedBy(approval),
  ],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
