import type { LineStanding } from '../../assessment/material-lines.js';
import { ABSENT } from './absent.js';

/** What became of a line of a certificate that no limit judges. */
const NOT_JUDGED = { missing: ABSENT.missing, 'for information': 'for information' };

export type LineOutcome = LineStanding | keyof typeof NOT_JUDGED;

export const CERTIFICATE_LINE = {
  notStated: ABSENT.notStated,
  noLimit: 'no limit',
  asked: 'to be stated',
  ...NOT_JUDGED,
};

export const lineOutcomeText = (outcome: LineOutcome): string =>
  outcome === 'missing' || outcome === 'for information' ? CERTIFICATE_LINE[outcome] : outcome;
