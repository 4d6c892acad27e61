import { ValidationFault } from '../../../assessment/reasons.js';
import { type CheckPhrases, PAIRS, readFact } from '../phrase.js';
import { validationFaultText } from '../plans.js';

export const afterReleaseRelied: CheckPhrases = {
  title: 'Late results covered by a valid process validation',
  asks: 'Does each characteristic that is due after release rest on a process validation that was valid on the build date?',
  recompute: `For each characteristic due after-release and each build: "not valid for a late result" when the process
validation named under "relies" may not be relied on for the build. Implants: those of the build. Does not apply without such a
characteristic.`,
  basis: ({ late }) =>
    readFact(PAIRS, late)
      .map(([title, relies]) => `${title} rests on ${relies}`)
      .join('; '),
  doesNotApply: 'no characteristic is due after release',
  rules: {
    'not valid for a late result': ({ title, fault }) => ({
      says: `${title} may come after release only while a process validation holds: ${validationFaultText(readFact(ValidationFault, fault))}.`,
      clearedBy: 'Analyst: take in the result before release. Process engineer: renew the validation for later lots.',
    }),
  },
};
