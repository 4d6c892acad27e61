import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import type { ClaimNote } from '../assessment.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { type Check, type FindingDraft, isAfter, subject } from './check.js';

/** Parts of the lot by the recipe revision that built them, per build. */
function uses(facts: Facts) {
  const { implants, coupons, builds } = facts.lot.body;
  const parts = [
    ...implants.map((part) => ({ ...part, units: [part.serial] })),
    ...coupons.map((part) => ({ ...part, units: [...part.standsFor] })),
  ];
  const grouped = new Map<
    string,
    { key: string; recipe: string; revision: number; build: string; units: Set<string> }
  >();
  for (const part of parts) {
    const key = revisionKey(part.recipe.recipe, part.recipe.revision);
    const id = `${part.build} ${key}`;
    const use = grouped.get(id) ?? { key, ...part.recipe, build: part.build, units: new Set<string>() };
    for (const unit of part.units) use.units.add(unit);
    grouped.set(id, use);
  }
  return [...grouped.values()].map((use) => ({
    ...use,
    closedAt: builds.find((build) => build.build === use.build)?.closedAt ?? '',
  }));
}

export const recipeInForce: Check = {
  code: 'recipe-in-force',
  title: 'Recipe in force at the build',
  clause: 'ISO 13485:2016 4.2.4, 7.5.1',
  moment: 'build',
  asks: 'Was each recipe revision effective, and approved before the chamber closed?',
  run(facts) {
    const findings: FindingDraft[] = [];
    const claims: ClaimNote[] = [];
    const seen: string[] = [];
    for (const use of uses(facts)) {
      const recipe = facts.recipes.get(use.key)!;
      const common = {
        subjects: [subject('recipe', use.recipe), subject('build', use.build)],
        effect: 'cannot be decided' as const,
        units: [...use.units].sort(),
      };
      seen.push(`${use.key} for ${use.build}`);
      const { effectiveFrom, approval } = recipe.body;
      if (isAfter(effectiveFrom, use.closedAt)) {
        findings.push({
          ...common,
          rule: 'not yet effective',
          facts: { recipe: use.key, effectiveFrom, closedAt: use.closedAt },
          says: `Recipe ${use.key} is effective from ${timeText(effectiveFrom)}, but ${use.build} was closed at ${timeText(use.closedAt)}.`,
          clearedBy: 'Process engineer: name the revision that was in force, or open a nonconformity for the build.',
        });
      }
      const standing = standingOf(facts, revisionSubject({ ...recipe, kind: 'recipe', key: use.recipe }), approval);
      const missing = unapproved(standing, `Recipe ${use.key}`, 'Quality engineer', {
        ...common,
        facts: { recipe: use.key },
      });
      if (missing) findings.push(missing);
      else if (isGood(standing) && isAfter(standing.at, use.closedAt)) {
        findings.push({
          ...common,
          rule: 'approved after the build',
          facts: { recipe: use.key, approvedAt: standing.at, closedAt: use.closedAt },
          says: `Recipe ${use.key} was approved at ${timeText(standing.at)}, after ${use.build} was closed at ${timeText(use.closedAt)}.`,
          clearedBy: 'Quality engineer: open a nonconformity for building without an approved recipe.',
        });
      } else if (isGood(standing)) claims.push(noteOf(`approval of recipe ${use.key}`, standing));
    }
    return { findings, claims, basis: seen.join('; ') };
  },
};
