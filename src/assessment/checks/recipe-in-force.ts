import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import type { ClaimNote } from '../assessment.js';
import { recipeUses } from '../recipe-uses.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { type Check, CONCEDE, type FindingDraft, isAfter, subject } from './check.js';

export const recipeInForce: Check = {
  code: 'recipe-in-force',
  title: 'Recipe in force at the build',
  clause: 'ISO 13485:2016 4.2.4, 7.5.1',
  moment: 'build',
  asks: 'Was each recipe revision written for the machine, effective, and approved before the chamber closed?',
  run(facts) {
    const findings: FindingDraft[] = [];
    const claims: ClaimNote[] = [];
    const seen: string[] = [];
    for (const { key, recipe, build, units } of recipeUses(facts)) {
      const { closedAt } = build;
      const common = {
        subjects: [subject('recipe', recipe.body.recipe), subject('build', build.build)],
        effect: 'cannot be decided' as const,
        units,
      };
      seen.push(`${key} for ${build.build}`);
      const { effectiveFrom, approval } = recipe.body;
      if (isAfter(effectiveFrom, closedAt)) {
        findings.push({
          ...common,
          rule: 'not yet effective',
          mayBeDecided: 'concession',
          facts: { recipe: key, effectiveFrom, closedAt },
          says: `Recipe ${key} is effective from ${timeText(effectiveFrom)}, but ${build.build} was closed at ${timeText(closedAt)}.`,
          clearedBy: `Process engineer: name the revision that was in force. ${CONCEDE}`,
        });
      }
      const { machine } = recipe.body;
      if (machine !== build.machine) {
        findings.push({
          ...common,
          rule: 'for another machine',
          mayBeDecided: 'concession',
          facts: { recipe: key, writtenFor: machine, machine: build.machine },
          says: `Recipe ${key} was written for ${machine}, and ${build.build} is a closure of ${build.machine}.`,
          clearedBy: 'Process engineer: name the recipe by which this machine worked, or open a nonconformity.',
        });
      }
      const standing = standingOf(
        facts,
        revisionSubject({ ...recipe, kind: 'recipe', key: recipe.body.recipe }),
        approval,
      );
      const missing = unapproved(standing, `Recipe ${key}`, 'Quality engineer', {
        ...common,
        facts: { recipe: key },
      });
      if (missing) findings.push(missing);
      else if (isGood(standing) && isAfter(standing.at, closedAt)) {
        findings.push({
          ...common,
          rule: 'approved after the build',
          mayBeDecided: 'concession',
          facts: { recipe: key, approvedAt: standing.at, closedAt },
          says: `Recipe ${key} was approved at ${timeText(standing.at)}, after ${build.build} was closed at ${timeText(closedAt)}.`,
          clearedBy: CONCEDE,
        });
      } else if (isGood(standing)) claims.push(noteOf(`approval of recipe ${key}`, standing));
    }
    return { findings, claims, basis: seen.join('; ') };
  },
};
