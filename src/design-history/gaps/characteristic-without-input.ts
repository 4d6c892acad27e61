import { type GapRule, ref } from './gap-rule.js';

export const characteristicWithoutInput: GapRule = {
  code: 'characteristic-without-input',
  clause: 'ISO 13485:2016 7.3.3',
  find(design) {
    const asked = new Set(design.current('design-input').flatMap(({ body }) => body.characteristics ?? []));
    return design.current('specification').flatMap((specification) =>
      specification.body.characteristics
        .filter(({ characteristic }) => !asked.has(characteristic))
        .map(({ characteristic, title }) => ({
          subjects: [ref(specification)] as const,
          detail: characteristic,
          facts: { characteristic, title },
        })),
    );
  },
};
