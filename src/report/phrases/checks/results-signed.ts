import { NOTHING_TO_ASK } from '../absent.js';
import type { CheckPhrases, Told } from '../phrase.js';

const rowsText = ({ values, row }: Told): string => (values === '1' ? `result ${row}` : `${values} results`);

export const resultsSigned: CheckPhrases = {
  title: 'Results signed by who measured them, typed values checked by another',
  asks: 'Did each analyst sign their results, and did a second person check every typed value?',
  recompute: `For each result-set (a sheet) and the current rows with its "evidence": "not signed as performed" for each analyst
who did not sign "performed" on the sheet; "typed value not checked" for each enteredBy of rows for which nobody else signed
"checked" on the sheet. Implants: those of the specimens of these rows. Does not apply without a current row.`,
  basis: ({ sheets }) => `${sheets} result sheets`,
  doesNotApply: NOTHING_TO_ASK.noResults,
  rules: {
    'not signed as performed': (facts) => ({
      says: `${rowsText(facts)} of ${facts.analyst} in ${facts.file} are not signed as performed.`,
      clearedBy: `${facts.analyst}: sign the result sheet as performed.`,
    }),
    'typed value not checked': (facts) => ({
      says:
        `${rowsText(facts)} typed by ${facts.enteredBy} in ${facts.file} are not signed as checked` +
        `${facts.claimedBy === '' ? '' : `; the file claims ${facts.claimedBy}`}.`,
      clearedBy: `Another person than ${facts.enteredBy}: compare the values with their source and sign the sheet as checked.`,
    }),
  },
};
