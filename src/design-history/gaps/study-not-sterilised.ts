import { type GapRule, ref } from './gap-rule.js';

/** Purposes that speak of what reaches patients, so of parts as they are after sterilisation. */
const ON_STERILISED_PARTS: ReadonlySet<string> = new Set(['validation', 'shelf life', 'biological', 'packaging']);

export const studyNotSterilised: GapRule = {
  code: 'study-not-sterilised',
  clause: 'ISO 13485:2016 7.3.6',
  find(design) {
    const isSterile = design
      .current('family')
      .some(({ key, body }) => key === design.family && body.sterile === 'sterile');
    if (!isSterile) return [];
    return design
      .current('design-study')
      .filter(({ body }) => ON_STERILISED_PARTS.has(body.purpose) && body.sterilised === 'no')
      .map((study) => ({ subjects: [ref(study)], facts: { purpose: study.body.purpose } }));
  },
};
