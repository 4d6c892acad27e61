import { exposuresOf } from '../loss-claims.js';
import { lotsOf } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const criterionNotMeasured: GapRule = {
  code: 'criterion-not-measured',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design.current('design-study').flatMap((study) => {
      const { characteristic, by } = study.body.criterion;
      const lots = lotsOf(design, study.body);
      const isMeasured =
        by === 'loss against window'
          ? exposuresOf(design, study.body).length > 0
          : lots.some((lot) =>
              design.facts.lots.get(lot)?.values.some((value) => value.characteristic === characteristic),
            );
      if (study.body.result === 'open' || lots.length === 0 || isMeasured) return [];
      return [{ subjects: [ref(study)], facts: { characteristic, lots: lots.join(', ') } }];
    }),
};
