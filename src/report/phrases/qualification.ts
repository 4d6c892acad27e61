import type { Phrase, Told } from './phrase.js';
import { stepText } from './trade-codes.js';

const nameOf = ({ name, person }: Told): string => (name === '' ? person : `${name} (${person})`);

function workOf({ work, workOn, day }: Told): string {
  const what =
    work === 'step' ? `did ${stepText(workOn)}` : work === 'test' ? `tested by ${workOn}` : `ran build ${workOn}`;
  return `${what} on ${day}`;
}

/** ISO 8601 intervals, an open end as two dots. */
const validText = ({ validFor }: Told): string => validFor.replaceAll('/..', ' to now').replaceAll('/', ' to ');

const TRAINED =
  'Quality engineer: take in the record of the training that was valid on that day, or have the work repeated by a qualified person.';

/** Of a person who did something without a signed qualification for it on that day. */
export const qualificationPhrases: Readonly<Record<string, Phrase>> = {
  'qualification not signed': (facts) => ({
    says: `${nameOf(facts)} ${workOf(facts)}; the qualification for "${facts.operation}" is claimed by the file and nobody signed it.`,
    clearedBy: `Quality engineer, not ${facts.person}: approve the qualification on the evidence of the training.`,
  }),
  'qualification not valid on the day': (facts) => ({
    says: `${nameOf(facts)} ${workOf(facts)}; the qualification for "${facts.operation}" is valid ${validText(facts)}.`,
    clearedBy: TRAINED,
  }),
  'not qualified': (facts) => ({
    says: `${nameOf(facts)} ${workOf(facts)} and has no qualification for "${facts.operation}".`,
    clearedBy: TRAINED,
  }),
};
