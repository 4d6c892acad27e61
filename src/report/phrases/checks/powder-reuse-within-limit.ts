import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const powderReuseWithinLimit: CheckPhrases = {
  title: 'Powder used no more often than allowed',
  asks: 'Did the powder of each build go through a machine no more often than its material specification allows?',
  recompute: `For each entry of "powder" of each build. Its limit is the least "reuseLimit" of the material specifications that the
receipts in its "state" name, through the "inputs" of each state; skip it where none has one. How often it was used is the most of
its inputs, and one more where its "operation" is recover; a receipt counts 1 where its "state" is used, else 0. "used too often" (C)
when that is more than the limit. Implants: those of the build. Does not apply when no entry has a limit.`,
  basis: ({ builds }) => builds,
  doesNotApply: 'no receipt names what it was ordered to',
  rules: {
    'used too often': ({ build, state, uses, most }) => ({
      says: `Powder ${state} of ${build} went through a machine ${uses} times before, allowed are at most ${most}.`,
      clearedBy: `Analyst: test the powder, for the rationale. ${CONCEDE}`,
    }),
  },
};
