import { type Carried, converted, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { implantsOfBuild } from './closures.js';
import { mayRelyOn } from './plans.js';
import { C, FAILS, type Found, found, usesOf } from './words.js';

/** How much of a state is of each receipt. */
function receiptsIn(carried: Carried, code: string): Map<string, number> {
  const inputs: Json[] = carried.pinned('powder-state', code)?.body.inputs ?? [];
  const total = inputs.reduce((sum, { massG }) => sum + Number(massG), 0);
  const parts = new Map<string, number>();
  for (const { receipt, state, massG } of inputs) {
    const own = receipt === undefined ? receiptsIn(carried, state) : new Map([[receipt, 1]]);
    for (const [name, part] of own) parts.set(name, (parts.get(name) ?? 0) + (part * Number(massG)) / total);
  }
  return parts;
}

/** The first rule that is true of a limit that rests on a validated interval. */
function byInterval(carried: Carried, limit: Json, build: Json, groups: readonly string[]): string | undefined {
  if (!mayRelyOn(carried, limit.validation, moment(build.closedAt))) return 'validation does not hold';
  const named = carried.specification.body.validations.find((one: Json) => one.validation === limit.validation);
  const {
    machine,
    recipeGroups,
    depositedMetal = [],
  } = carried.pinned('process-validation', named.validation, named.revision).body;
  if (machine !== build.machine || groups.some((group) => !recipeGroups.includes(group)))
    return 'does not cover the build';
  const shown = depositedMetal.find(({ property }: Json) => property === limit.property);
  if (shown === undefined) return 'change not shown';
  const age = Math.floor((moment(build.closedAt) - moment(shown.analysedAt)) / 86_400_000);
  if (age < 0 || age > Number(shown.holdsDays)) return 'interval over';
  const change = converted(shown.change, shown.ucum, limit.ucum);
  const spread = converted(shown.standardUncertainty, shown.ucum, limit.ucum);
  if (change === undefined || spread === undefined) return 'units do not compare';
  let [low, high, squares, whole] = [Number(change), Number(change), Number(spread) ** 2, 0];
  const charged = (build.powder ?? []).reduce((sum: number, { chargedG }: Json) => sum + Number(chargedG), 0);
  const shares = new Map<string, number>();
  for (const { state, chargedG } of build.powder ?? []) {
    for (const [code, part] of receiptsIn(carried, state))
      shares.set(code, (shares.get(code) ?? 0) + (part * Number(chargedG)) / charged);
  }
  for (const [code, share] of shares) {
    const line = carried
      .pinned('receipt', code)
      ?.body.certificate?.lines.find(({ property }: Json) => property === limit.property);
    const [, sign, number] = /^([<>≤≥]?)\s?(.+)$/.exec(line?.value ?? '') ?? [];
    const value = number && converted(number, line.ucum, limit.ucum);
    if (value === undefined) return 'powder not certified';
    whole += share;
    low += share * (/[<≤]/.test(sign ?? '') ? 0 : Number(value));
    high += share * (/[>≥]/.test(sign ?? '') ? Number.POSITIVE_INFINITY : Number(value));
    if (line.uncertainty && sign === '')
      squares += (share * Number(converted(line.uncertainty, line.ucum, limit.ucum))) ** 2;
  }
  if (Math.abs(whole - 1) > 1e-9) return 'powder not certified';
  const around = 2 * Math.sqrt(squares);
  const [lower, upper] = [Number(limit.lower ?? -Infinity), Number(limit.upper ?? Infinity)];
  if (high + around < lower || low - around > upper) return 'outside limits';
  return low - around >= lower && high + around <= upper ? undefined : 'not decidable';
}

export const CHECKS_OF_DEPOSITS: Readonly<Record<string, Asked>> = {
  'deposited-metal-known': (carried) => {
    const uses = usesOf(carried).filter(({ does }) => does('deposit'));
    const all = ((carried.specification.body.depositedMetal ?? []) as Json[]).flatMap((limit) =>
      unique(uses.map(({ build }) => build)).map((build) => ({ limit, build })),
    );
    return {
      found: all.flatMap(({ limit, build }): Found[] => {
        const units = implantsOfBuild(carried, build.build);
        const groups = uses.filter((use) => use.build === build).map(({ recipe }) => recipe.body.group);
        const rule = byInterval(carried, limit, build, groups);
        if (rule === undefined) return [];
        return [found(rule, units, rule === 'outside limits' ? { ...FAILS, ...C } : C)];
      }),
      applies: all.length > 0,
    };
  },
};
