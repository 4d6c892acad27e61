import type { Facts } from '../dossier/facts.js';
import { isAfter, unitsOfBuild } from './checks/check.js';
import { loadsInOrder, partsIn } from './loads.js';

/** One use of something that touched parts of the lot and wears out. */
export interface ConsumableUse {
  readonly consumable: string;
  readonly usedIn: { readonly kind: 'build' | 'process-load'; readonly key: string };
  /** Undefined for the bottle of the gas in the chamber. */
  readonly step: string | undefined;
  /** As logged; undefined for all that the step was done to. */
  readonly zones: readonly string[] | undefined;
  readonly uses: number;
  /** Implants of the lot that were in the closure or in the load. */
  readonly implants: readonly string[];
}

/** What was used in the closures of the lot, in their order, and in its loads as they ended. */
export function consumableUses(facts: Facts): ConsumableUse[] {
  const { builds, implants } = facts.lot.body;
  const serials = new Set(implants.map(({ serial }) => serial));
  return [
    ...builds.flatMap(({ build, consumables = [], gas }) =>
      [
        ...consumables.map(({ consumable, step, zones, uses = 1 }) => ({ consumable, step, zones, uses })),
        ...gas.flatMap(({ bottle }) =>
          bottle === undefined ? [] : [{ consumable: bottle, step: undefined, zones: undefined, uses: 1 }],
        ),
      ].map((use) => ({
        ...use,
        usedIn: { kind: 'build' as const, key: build },
        implants: unitsOfBuild(facts, build),
      })),
    ),
    ...loadsInOrder(facts).flatMap((load) =>
      (load.body.consumables ?? []).map(({ consumable, uses = 1 }) => ({
        ...{ consumable, step: load.body.step, zones: undefined, uses },
        usedIn: { kind: 'process-load' as const, key: load.body.load },
        implants: partsIn(facts, load).filter((part) => serials.has(part)),
      })),
    ),
  ];
}

/** When the chamber was closed, or the load finished. */
export const momentOfUse = (facts: Facts, { usedIn }: ConsumableUse): string | undefined =>
  usedIn.kind === 'build'
    ? facts.lot.body.builds.find(({ build }) => build === usedIn.key)?.closedAt
    : facts.loads.get(usedIn.key)?.body.at;

/** Uses by whatever lots up to a moment, that one included. */
export const usesUpTo = ({ consumablesUsed }: Pick<Facts, 'consumablesUsed'>, consumable: string, at: string): number =>
  consumablesUsed
    .filter((used) => used.consumable === consumable && !isAfter(used.at, at))
    .reduce((sum, { uses }) => sum + uses, 0);
