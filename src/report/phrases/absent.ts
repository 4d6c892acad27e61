import { beginningSmall } from './capital.js';

/** What stands where something is not there, in tables, papers and pages alike. */
export const ABSENT = {
  withheld: 'withheld',
  nobody: 'nobody',
  none: 'none',
  /** In a table, as a sentence. */
  noneSentence: 'None.',
  noneNamed: 'none named',
  noneStated: 'none stated',
  notStated: 'not stated',
  noCertificate: 'no certificate',
  noEnd: 'no end',
  noPart: 'no part',
  noStep: 'no step',
  missing: 'missing',
  nothing: 'nothing',
};

/** Of planned values that nobody measured yet. */
export const missingText = (count: number): string => (count === 1 ? ABSENT.missing : `${count} ${ABSENT.missing}`);

/** Why a check or a count does not apply, of several. */
export const NOTHING_TO_ASK = {
  noImplants: 'a build without implants',
  noResults: 'there are no results yet',
  noCoupon: 'no coupon stands for an implant',
};

/** @param captions of tables without a row. */
export const noneOf = (captions: readonly string[]): string => `None: ${captions.map(beginningSmall).join('; ')}.`;
