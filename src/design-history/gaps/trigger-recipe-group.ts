import { type GapRule, ref } from './gap-rule.js';

export const triggerRecipeGroup: GapRule = {
  code: 'trigger-recipe-group',
  clause: 'ISO 13485:2016 7.5.6',
  find(design) {
    const validations = design.current('process-validation');
    return design.current('recipe').flatMap((recipe) => {
      const { machine, group } = recipe.body;
      const onMachine = validations.filter(({ body }) => body.machine === machine);
      if (onMachine.some(({ body }) => body.recipeGroups.includes(group))) return [];
      const named = onMachine.map(({ key }) => key).join(', ');
      return [{ subjects: [ref(recipe)], facts: { group, machine, named } }];
    });
  },
};
