import { type CheckPhrases, PAIRS, readFact } from '../phrase.js';

export const zoneClassesCovered: CheckPhrases = {
  title: 'Something measured in every class of zones',
  asks: 'Does the specification name a characteristic for every class of zones of the implants, or say why not?',
  recompute: `The classes of the recipe zones that implants have: "nothing measured in a zone class" (D) for each that is
neither "zoneClass" of a characteristic nor listed under "unmeasured". Implants: those with a zone of the class. Does not apply
when no characteristic has a "zoneClass", or no implant a zone.`,
  basis: ({ zoneClasses, unmeasured }) => {
    const reasons = readFact(PAIRS, unmeasured).map(([zoneClass, reason]) => `nothing in ${zoneClass}: ${reason}`);
    return [`measured in ${zoneClasses}`, ...reasons].join('; ');
  },
  doesNotApply: 'no characteristic of the specification names a class of zones, so each speaks of the whole implant',
  rules: {
    'nothing measured in a zone class': ({ specification, zoneClass }) => ({
      says: `${specification} names no characteristic for zones of class ${zoneClass}, and no reason why not.`,
      clearedBy:
        'Process engineer: name a characteristic in the next revision, or the reason under "unmeasured". Process and quality engineer: decide on this lot.',
    }),
  },
};
