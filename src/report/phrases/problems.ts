import type { ErrorCode } from '../../base/errors.js';

/** What each kind of trouble is called, on its page, in answers to programs and where the API is explained. */
export const PROBLEM_TITLES: Readonly<Record<ErrorCode, string>> = {
  BAD_INPUT: 'The request cannot be understood',
  CALCULATION_INPUT: 'The calculation cannot be done with this input',
  NOT_FOUND: 'There is no such thing',
  NOT_SIGNED_IN: 'Nobody is signed in',
  REFUSED: 'Refused',
  LOCKED: 'Too many attempts failed',
  CONFLICT: 'Something else happened meanwhile',
  BUSY: 'Busy',
  ALTERED: 'Stored data were altered',
  LATER_FORM: 'Only a later version of the program reads this',
  STORAGE: 'The disk does not take or give the data',
  TOO_MANY: 'Too many requests',
  UNEXPECTED: 'Something went wrong in the program',
};

/** What is said of a request beside its problems, one by one. */
/** @param near what is there, by its code. */
export const speltNearlyText = (says: string, near: readonly string[]): string =>
  `${says}. Spelt nearly so: ${near.join(', ')}`;

export const PROBLEMS = {
  nothingAt: (path: string) => `there is nothing at ${path}`,
  seeLog: 'the log of the service says more',
  count: (problems: number) =>
    problems === 1 ? 'one thing is wrong with what was sent' : `${problems} things are wrong with what was sent`,
  noJson: (message: string) => `no JSON: ${message}`,
};
