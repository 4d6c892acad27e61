import { canonicalJson } from '../../dossier/canonical.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { ClaimNote } from '../assessment.js';
import { recipeUses } from '../recipe-uses.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const recipeInForce: Check = {
  code: 'recipe-in-force',
  since: 1,
  clause: 'ISO 13485:2016 4.2.4, 7.5.1',
  moment: 'build',
  run(facts) {
    const findings: FindingDraft[] = [];
    const claims: ClaimNote[] = [];
    const seen: [string, string][] = [];
    for (const { key, recipe, build, units } of recipeUses(facts)) {
      const { closedAt } = build;
      const common = {
        subjects: [subject('recipe', recipe.body.recipe), subject('build', build.build)],
        effect: 'cannot be decided' as const,
        units,
      };
      seen.push([key, build.build]);
      const { effectiveFrom, approval } = recipe.body;
      if (isAfter(effectiveFrom, closedAt)) {
        findings.push({
          ...common,
          rule: 'not yet effective',
          mayBeDecided: 'concession',
          facts: { recipe: key, effectiveFrom, build: build.build, closedAt },
        });
      }
      const { machine } = recipe.body;
      if (machine !== build.machine) {
        findings.push({
          ...common,
          rule: 'for another machine',
          mayBeDecided: 'concession',
          facts: { recipe: key, writtenFor: machine, build: build.build, machine: build.machine },
        });
      }
      const standing = standingOf(
        facts,
        revisionSubject({ ...recipe, kind: 'recipe', key: recipe.body.recipe }),
        approval,
      );
      const missing = unapproved(standing, {
        ...common,
        facts: { recipe: key },
      });
      if (missing) findings.push(missing);
      else if (isGood(standing) && isAfter(standing.at, closedAt)) {
        findings.push({
          ...common,
          rule: 'approved after the build',
          mayBeDecided: 'concession',
          facts: { recipe: key, approvedAt: standing.at, build: build.build, closedAt },
        });
      } else if (isGood(standing)) claims.push(approvalOf('recipe', key, standing));
    }
    return { findings, claims, basis: { uses: canonicalJson(seen) } };
  },
};
