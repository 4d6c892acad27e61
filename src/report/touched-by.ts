import { consumableUses, usesUpTo } from '../assessment/consumable-uses.js';
import { orderedTo } from '../assessment/material-lines.js';
import type { Facts } from '../dossier/facts.js';
import type { Characteristic } from '../kinds/specification.js';
import { TOUCHED_BY } from './phrases/touched-by.js';
import { materialCategoryText } from './phrases/trade-codes.js';

/**
 * What touched the surface of which a characteristic tells, in the steps that it names: material and uses up to then, each
 * once. Nothing is assumed of what it did there.
 */
export function touchedBy(facts: Facts, { touchedBy: steps }: Characteristic): string[] {
  if (steps === undefined) return [];
  const found = consumableUses(facts)
    .filter(({ step }) => (steps as readonly (string | undefined)[]).includes(step))
    .map((use) => {
      const body = facts.consumables.get(use.consumable)?.body;
      if (body === undefined) return TOUCHED_BY.unknown(use.consumable);
      const build = facts.lot.body.builds.find((one) => one.build === use.usedIn.key);
      const most = orderedTo(facts, body)?.body.inUseLimit?.uses;
      const uses =
        most === undefined || build === undefined ? use.uses : usesUpTo(facts, use.consumable, build.closedAt);
      return TOUCHED_BY.one(use.consumable, materialCategoryText(body.category), body.material, uses, most);
    });
  return found.length === 0 ? [TOUCHED_BY.none] : [...new Set(found)];
}
