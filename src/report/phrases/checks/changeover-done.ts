import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ changeover, machine }: Told): string => (changeover === '' ? machine : `${machine}, by ${changeover},`);

export const changeoverDone: CheckPhrases = {
  title: 'Machine changed over to the alloy',
  asks: 'Was the machine ready for the alloy of the family when the chamber closed, purged, and seen to hold nothing of another?',
  recompute: `For each build, the last "changeover" by "at" among the pinned ones of its machine with "at" not after "closedAt". The
machine is ready for the "toAlloy" of that, or where there is none for the first of the "alloys" of the machine; skip a build that
names no "changeover" where there is neither. "ready for another alloy" (C) where that is not the "alloy" of the family; "not the last one" (C) where the build has
a "changeover" that is not this one; "not purged" (C) where this one has no "purge"; "something was left" [does not conform] (C) where
the "result" of its "verified" is failed. Implants: those of the build. Does not apply when every build is skipped.`,
  basis: ({ builds }) => builds,
  doesNotApply: 'neither the machines nor a changeover name an alloy',
  rules: {
    'ready for another alloy': (facts) => ({
      says: `${what(facts)} was ready for ${facts.alloy} when ${facts.build} began, and the family is made of ${facts.asked}.`,
      clearedBy: `Operator: enter the changeover that was done before it, with its purge and what was seen. ${CONCEDE}`,
    }),
    'not the last one': (facts) => ({
      says: `${facts.build} names the changeover ${facts.named}, which is not the last one of ${facts.machine} before it closed.`,
      clearedBy: `Operator: correct the changeover in the lot file, or enter the one that is missing. ${CONCEDE}`,
    }),
    'not purged': (facts) => ({
      says: `The changeover ${facts.changeover} before ${facts.build} states no purge.`,
      clearedBy: `Operator: enter what was run through. ${CONCEDE}`,
    }),
    'something was left': (facts) => ({
      says: `The look after the changeover ${facts.changeover} before ${facts.build} failed: ${facts.condition}.`,
      clearedBy: `Operator: enter the changeover that was done again before it. ${CONCEDE}`,
    }),
  },
};
