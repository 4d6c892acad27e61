import { canonicalJson } from '../../dossier/canonical.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { type Check, subject } from './check.js';

/** Serials by the class of the recipe zones that they have. */
function unitsByClass({ lot, recipes }: Facts): Map<string, Set<string>> {
  const found = new Map<string, Set<string>>();
  for (const { serial, recipe, zones } of lot.body.implants) {
    const known = recipes.get(revisionKey(recipe.recipe, recipe.revision))?.body.zones ?? [];
    for (const { recipeZone } of zones) {
      const zone = known.find((item) => item.zone === recipeZone);
      if (zone) found.set(zone.class, (found.get(zone.class) ?? new Set()).add(serial));
    }
  }
  return found;
}

export const zoneClassesCovered: Check = {
  code: 'zone-classes-covered',
  since: 1,
  clause: 'ISO 13485:2016 7.1, 8.2.6; FDA additive manufacturing guidance (2017), test coupons',
  moment: 'build',
  run(facts) {
    const { specification, revision, characteristics, unmeasured = [] } = facts.specification.body;
    const measured = new Set(characteristics.flatMap(({ zoneClass }) => zoneClass ?? []));
    const reasons = new Map(unmeasured.map((item) => [item.zoneClass, item.reason]));
    // A specification that names no class speaks of implants as a whole.
    const classes = measured.size === 0 ? new Map<string, Set<string>>() : unitsByClass(facts);
    return {
      findings: [...classes]
        .filter(([zoneClass]) => !measured.has(zoneClass) && !reasons.has(zoneClass))
        .map(([zoneClass, units]) => ({
          rule: 'nothing measured in a zone class',
          subjects: [subject('specification', specification)],
          facts: { specification: revisionKey(specification, revision), zoneClass },
          effect: 'cannot be decided',
          mayBeDecided: 'decision',
          units: [...units].sort(),
        })),
      basis: {
        zoneClasses: [...classes.keys()].filter((zoneClass) => measured.has(zoneClass)).join(', '),
        unmeasured: canonicalJson([...reasons].filter(([zoneClass]) => classes.has(zoneClass))),
      },
      doesNotApply: classes.size === 0,
    };
  },
};
