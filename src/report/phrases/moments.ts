import type { Moment } from '../../assessment/moment.js';

/** What is asked of a lot at each moment. */
export const MOMENT_QUESTIONS: Readonly<Record<Moment, string>> = {
  build: 'May we build?',
  sterilisation: 'May we sterilise?',
  release: 'May we release?',
};

/** The answer, as a sentence without its stop. */
export const nothingHoldsBackText = (releasable: number, units: number): string =>
  `Nothing holds back ${releasable} of ${units} implants`;
