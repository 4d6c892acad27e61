import { revisionKey } from '../../dossier/facts.js';
import { recipesOf } from '../../kinds/build-chain.js';
import { builtDesigns } from '../built-designs.js';
import { type Check, subject } from './check.js';

export const recipeAsDesigned: Check = {
  code: 'recipe-as-designed',
  since: 1,
  clause: 'ISO 13485:2016 7.3.4, 7.3.8, 7.5.1',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const planned = builtDesigns(facts).filter(({ design }) => design !== undefined);
    return {
      findings: planned.flatMap(({ code, iteration, implants, design }) => {
        const { recipe, revision } = design!.body.recipe;
        const others = implants.filter((implant) =>
          recipesOf(implant).every((used) => used.recipe !== recipe || used.revision !== revision),
        );
        if (others.length === 0) return [];
        const used = [...new Set(others.flatMap(recipesOf).map((one) => revisionKey(one.recipe, one.revision)))];
        return [
          {
            rule: 'built by another recipe',
            subjects: [subject('case', code), subject('recipe', recipe)],
            facts: {
              case: code,
              iteration: String(iteration),
              planned: revisionKey(recipe, revision),
              used: used.join(', '),
            },
            effect: 'cannot be decided' as const,
            mayBeDecided: 'concession' as const,
            units: others.map(({ serial }) => serial),
          },
        ];
      }),
      basis: { designs: String(planned.length) },
      doesNotApply: planned.length === 0,
    };
  },
};
