import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, PAIRS, readFact } from '../phrase.js';

const dueText = (due: string): string => due.replace('-', ' ');

export const resultsInTime: CheckPhrases = {
  title: 'Results there when they were due',
  asks: 'Was each characteristic that is due before build or sterilisation measured by then?',
  recompute: `For each characteristic due before-build, the earliest "closedAt" of the builds; for each due
before-sterilisation, the "at" of the first step sterilise, if there is one: "measured after it was due" [blocks release] (D) when a
current row of it has a later measuredAt. Implants: those of the specimens of these rows. Does not apply without such a
characteristic.`,
  basis: ({ early }) =>
    readFact(PAIRS, early)
      .map(([title, due]) => `${title}: ${dueText(due)}`)
      .join('; '),
  doesNotApply: 'no characteristic is due before build or sterilisation',
  rules: {
    'measured after it was due': ({ title, due, values, dueAt, measuredAt }) => ({
      says: `${title} is due ${dueText(due)}; ${values} values were measured after ${due === 'before-build' ? 'the first build was closed' : 'the first part was sterilised'} at ${timeText(dueAt)}, the first at ${timeText(measuredAt)}.`,
      clearedBy: 'Process and quality engineer: decide with the reason why going on before the result did no harm.',
    }),
  },
};
