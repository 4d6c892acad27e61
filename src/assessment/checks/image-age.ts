import { builtDesigns } from '../built-designs.js';
import { type Check, subject } from './check.js';

const DAY_MS = 86_400_000;

/** The envelope says how old images may be; a design outside every envelope answers for them by its own signature. */
export const imageAge: Check = {
  code: 'image-age',
  since: 1,
  clause: 'ISO 13485:2016 7.3.3; FDA additive manufacturing guidance (2017), image quality (from memory)',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const limited = builtDesigns(facts).flatMap((built) => {
      const days = built.envelope?.body.imageAgeDays;
      return days === undefined ? [] : [{ built, days }];
    });
    return {
      findings: limited.flatMap(({ built: { code, builtAt, imagingSets, serials }, days }) =>
        imagingSets
          .filter(({ body }) => ageInDays(body.takenOn, builtAt) > days)
          .map(({ body }) => ({
            rule: 'images too old',
            subjects: [subject('case', code)],
            facts: { case: code, days: String(ageInDays(body.takenOn, builtAt)), most: String(days) },
            effect: 'cannot be decided' as const,
            units: serials,
            mayBeDecided: 'concession' as const,
          })),
      ),
      basis: { designs: String(limited.length) },
      doesNotApply: limited.length === 0,
    };
  },
};

/** Days between two calendar dates, as they are written. */
const ageInDays = (takenOn: string, builtAt: string): number =>
  Math.round((Date.parse(builtAt.slice(0, 10)) - Date.parse(takenOn)) / DAY_MS);
