import { timeText } from '../../dossier/time-text.js';
import type { Phrase, Told } from './phrase.js';

const overdue = (what: string, { usedAt, certificate, due }: Told): string =>
  `${what} was used on ${timeText(usedAt)}; its calibration ${certificate} had been due on ${timeText(due)}`;

/** What may be wrong with the calibration of an instrument at the moment of its use. */
export const calibrationPhrases = (what: (facts: Told) => string): Readonly<Record<string, Phrase>> => ({
  'no calibration': (facts) => ({
    says: `${what(facts)} had no calibration on record when it was used on ${timeText(facts.usedAt)}.`,
    clearedBy: 'Analyst: take in the calibration certificate, or repeat the measurement on a calibrated instrument.',
  }),
  'left out of tolerance': (facts) => ({
    says: `${what(facts)} was left out of tolerance by calibration ${facts.certificate} and used on ${timeText(facts.usedAt)}.`,
    clearedBy: 'Analyst: repeat the measurement on an instrument in tolerance.',
  }),
  'found out of tolerance later': (facts) => ({
    says: `${what(facts)}, used on ${timeText(facts.usedAt)}, was found out of tolerance by calibration ${facts.foundBy} of ${timeText(facts.foundAt)}.`,
    clearedBy:
      'Process and quality engineer: decide by an assessment of the earlier results (ISO 13485 7.6), or have them repeated.',
  }),
  'overdue at use, found in tolerance since': (facts) => ({
    says: `${overdue(what(facts), facts)}. Calibration ${facts.foundBy} of ${timeText(facts.foundAt)} found it within tolerance; the assessment of what was measured meanwhile is not signed.`,
    clearedBy: 'Process and quality engineer: sign the assessment of these results (ISO 13485 7.6) as a decision.',
  }),
  'overdue at use': (facts) => ({
    says: `${overdue(what(facts), facts)}.`,
    clearedBy:
      'Quality engineer: an as-found calibration within tolerance and a signed assessment under ISO 13485 7.6; ' +
      'otherwise the analyst repeats the measurement on a calibrated instrument.',
  }),
});
