import { type GapRule, ref } from './gap-rule.js';

export const hazardWithoutControl: GapRule = {
  code: 'hazard-without-control',
  clause: 'ISO 14971:2019 7.1',
  find: (design) =>
    design
      .current('hazard')
      .filter((hazard) => design.naming('risk-control', 'controls', hazard).length === 0)
      .map((hazard) => ({ subjects: [ref(hazard)] })),
};
