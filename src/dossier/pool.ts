import { z } from 'zod';
import type { Characteristic, PoolingRule } from '../kinds/specification.js';
import { AT_REST, type CapabilityPlan, NO_GAS } from '../kinds/trend/capability-plan.js';
import { ExposedAs, flowText, gasText, hoursOfText, isSameDuration, isWarmAbout, sterilisedText } from './exposed.js';

/** What values of a build have in common; by it a pool admits them or not. */
export const HistoryContext = z.strictObject({
  machine: z.string(),
  recipe: z.string(),
  recipeRevision: z.int(),
  recipeGroup: z.string(),
  method: z.string(),
  methodRevision: z.int(),
  ucum: z.string(),
  /** Empty where the specification names none. */
  zoneClass: z.string(),
  /** Of what a specimen lost in a medium; absent for what was measured otherwise. */
  exposed: ExposedAs.optional(),
});
export type HistoryContext = z.infer<typeof HistoryContext>;

const reason = <Code extends string, Shape extends z.ZodRawShape>(code: Code, facts: Shape) =>
  z.strictObject({ code: z.literal(code), facts: z.strictObject(facts) });

/** Why a value of an earlier build does not count. */
export const ExclusionReason = z.discriminatedUnion('code', [
  reason('recipe group', { recipeGroup: z.string() }),
  reason('machine', { machine: z.string() }),
  reason('other method', { method: z.string() }),
  reason('other revision', { method: z.string(), revision: z.string() }),
  reason('zone class', { zoneClass: z.string() }),
  reason('built before', { from: z.string() }),
  reason('other unit', { ucum: z.string() }),
  reason('medium', { medium: z.string() }),
  reason('exposure', { exposure: z.string() }),
  reason('face', { face: z.string() }),
  reason('sterilisation', { sterilised: z.string() }),
  reason('flow', { flow: z.string() }),
  reason('gas', { gas: z.string() }),
  reason('temperature', { temperature: z.string() }),
  reason('only a bound', {}),
]);
export type ExclusionReason = z.infer<typeof ExclusionReason>;

/** Which values of one characteristic may be looked at together. */
export interface Pool {
  readonly recipeGroups: readonly string[];
  readonly machines: readonly string[];
  /** Any revision where none is named. */
  readonly methods: readonly { readonly method: string; readonly revision?: number | undefined }[];
  /** Any where none is named. */
  readonly zoneClasses?: readonly string[] | undefined;
  /** The first day on which a chamber may have been closed. */
  readonly from?: string | undefined;
  readonly ucum: string;
  /** Of values of degradation; any where nothing is named. */
  readonly medium?: string | undefined;
  /** Any revision where none is named. */
  readonly mediumRevision?: number | undefined;
  readonly hours?: number | undefined;
  readonly face?: string | undefined;
  readonly sterilised?: boolean | undefined;
  /** `at rest`, or `5 mL/min`. */
  readonly flow?: string | undefined;
  /** `none named`, or its name. */
  readonly gas?: string | undefined;
  readonly temperatureC?: number | undefined;
  /** Only values without an exposure on record. */
  readonly isUnexposed?: true;
}

/** The pool of the rule that the specification states. */
export function poolOfRule(rule: PoolingRule, { method, ucum }: Characteristic): Pool {
  const { recipeGroups, machines, from, methodRevisions } = rule;
  const methods = [methodRevisions === 'same' ? method : { method: method.method }];
  return { recipeGroups, machines, from, methods, ucum };
}

/**
 * The same pool with values of one sort of exposure alone: of several nothing is told together.
 * @param exposed undefined for those without an exposure on record.
 */
export function ofExposure(pool: Pool, exposed: ExposedAs | undefined): Pool {
  if (exposed === undefined) return { ...pool, isUnexposed: true };
  const { medium, mediumRevision, hours, face, sterilised = false, temperatureC } = exposed;
  const [flow, gas] = [flowText(exposed), gasText(exposed)];
  return { ...pool, medium, mediumRevision, hours, face, sterilised, flow, gas, temperatureC };
}

/** The pool that a capability plan names, without the days of its baseline. */
export function poolOfPlan({ pools }: CapabilityPlan, { ucum }: Pick<Characteristic, 'ucum'>): Pool {
  const { recipeGroups, machines, methods, zoneClasses, medium, exposure, face } = pools;
  const sterilised = pools.sterilised === undefined ? undefined : pools.sterilised === 'yes';
  const hours = exposure === undefined ? undefined : hoursOfText(exposure);
  const exposed = { medium, hours, face, sterilised, ...surroundings(pools) };
  return { recipeGroups, machines, methods, zoneClasses, ucum, ...exposed };
}

/** What a plan says of flow, gas and temperature, in the words by which exposures are compared. */
function surroundings({
  flow,
  gas,
  temperatureC,
}: CapabilityPlan['pools']): Pick<Pool, 'flow' | 'gas' | 'temperatureC'> {
  return {
    flow: flow === undefined ? undefined : flowText(flow === AT_REST ? {} : { flowMlPerMin: flow }),
    gas: gas === undefined ? undefined : gasText(gas === NO_GAS ? {} : { gas }),
    temperatureC: temperatureC === undefined ? undefined : Number(temperatureC),
  };
}

/** Why a pool does not admit values of a context, built on a day; undefined when it does. Bounds are no values, and asked apart. */
export function excludedBecause(pool: Pool, context: HistoryContext, builtAt: string): ExclusionReason | undefined {
  const { recipeGroup, machine, method, methodRevision, zoneClass, ucum } = context;
  if (!pool.recipeGroups.includes(recipeGroup)) return { code: 'recipe group', facts: { recipeGroup } };
  if (!pool.machines.includes(machine)) return { code: 'machine', facts: { machine } };
  const revisions = pool.methods.filter((item) => item.method === method).map(({ revision }) => revision);
  if (revisions.length === 0) return { code: 'other method', facts: { method } };
  if (!revisions.some((revision) => revision === undefined || revision === methodRevision)) {
    return { code: 'other revision', facts: { method, revision: String(methodRevision) } };
  }
  if (pool.zoneClasses !== undefined && zoneClass !== '' && !pool.zoneClasses.includes(zoneClass)) {
    return { code: 'zone class', facts: { zoneClass } };
  }
  const exposed = exposureApart(pool, context);
  if (exposed) return exposed;
  if (pool.from !== undefined && builtAt.slice(0, 10) < pool.from) {
    return { code: 'built before', facts: { from: pool.from } };
  }
  return ucum === pool.ucum ? undefined : { code: 'other unit', facts: { ucum } };
}

const NOT_RECORDED = 'not recorded';

/** What was exposed otherwise than the pool says, or not on record as exposed at all. */
function exposureApart(
  { medium, mediumRevision, hours, face, sterilised, isUnexposed, ...around }: Pool,
  { exposed }: HistoryContext,
): ExclusionReason | undefined {
  if (isUnexposed && exposed !== undefined) {
    return { code: 'medium', facts: { medium: `${exposed.medium} revision ${exposed.mediumRevision}` } };
  }
  if (medium !== undefined && exposed?.medium !== medium) {
    return { code: 'medium', facts: { medium: exposed?.medium ?? NOT_RECORDED } };
  }
  if (mediumRevision !== undefined && exposed?.mediumRevision !== mediumRevision) {
    return { code: 'medium', facts: { medium: `${exposed?.medium} revision ${exposed?.mediumRevision}` } };
  }
  if (hours !== undefined && (exposed === undefined || !isSameDuration(exposed.hours, hours))) {
    return { code: 'exposure', facts: { exposure: exposed === undefined ? NOT_RECORDED : `${exposed.hours} h` } };
  }
  if (face !== undefined && exposed?.face !== face)
    return { code: 'face', facts: { face: exposed?.face ?? NOT_RECORDED } };
  if (sterilised !== undefined && (exposed?.sterilised ?? false) !== sterilised)
    return {
      code: 'sterilisation',
      facts: { sterilised: exposed === undefined ? NOT_RECORDED : sterilisedText(exposed) },
    };
  return surroundingsApart(around, exposed);
}

function surroundingsApart(
  { flow, gas, temperatureC }: Pick<Pool, 'flow' | 'gas' | 'temperatureC'>,
  exposed: ExposedAs | undefined,
): ExclusionReason | undefined {
  const found = exposed && { flow: flowText(exposed), gas: gasText(exposed) };
  if (flow !== undefined && found?.flow !== flow) {
    return { code: 'flow', facts: { flow: found?.flow ?? NOT_RECORDED } };
  }
  if (gas !== undefined && found?.gas !== gas) return { code: 'gas', facts: { gas: found?.gas ?? NOT_RECORDED } };
  if (temperatureC === undefined || (exposed && isWarmAbout(temperatureC, exposed.temperatureC))) return undefined;
  return {
    code: 'temperature',
    facts: { temperature: exposed === undefined ? NOT_RECORDED : `${exposed.temperatureC} °C` },
  };
}
