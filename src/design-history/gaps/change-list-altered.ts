import { touchedSha256 } from '../change-touches.js';
import { type GapRule, ref } from './gap-rule.js';

export const changeListAltered: GapRule = {
  code: 'change-list-altered',
  clause: 'ISO 13485:2016 7.3.9',
  find: (design) =>
    design
      .current('design-change')
      .filter(({ body: { touches } }) => touches !== undefined && touches.sha256 !== touchedSha256(touches.lines))
      .map((change) => ({ subjects: [ref(change)] })),
};
