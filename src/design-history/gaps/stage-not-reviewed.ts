import { type GapRule, ref } from './gap-rule.js';

export const stageNotReviewed: GapRule = {
  code: 'stage-not-reviewed',
  clause: 'ISO 13485:2016 7.3.5',
  find(design) {
    const reviewed = new Set(design.current('design-review').map(({ body }) => body.stage));
    return design
      .current('design-plan')
      .flatMap((plan) =>
        plan.body.stages.flatMap(({ stage, due }) =>
          due === undefined || due >= design.today || reviewed.has(stage)
            ? []
            : [{ subjects: [ref(plan)], detail: stage, facts: { stage, due }, by: due }],
        ),
      );
  },
};
