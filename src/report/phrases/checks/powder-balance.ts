import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ build, charged, state }: Told): string => `Of ${charged} g of ${state} charged in ${build}`;

export const powderBalance: CheckPhrases = {
  title: 'Powder accounted for',
  asks: 'Is what was charged there again, deposited, recovered or wasted, as far as its material specification asks?',
  recompute: `For each entry of "powder" of each build that is not planned. Its limit is the least "balancePercent" of the material
specifications that the receipts in its "state" name, through the "inputs" of each state; skip it where none has one. "not weighed" (C)
where "depositedG", "recoveredG" or "wasteG" is missing; else "does not add up" (C) when "chargedG" less these three lies further from
0, on either side, than that many per cent of "chargedG". Implants: those of the build. Does not apply when no entry has a limit.`,
  basis: ({ builds }) => builds,
  doesNotApply: 'no receipt names what it was ordered to',
  rules: {
    'not weighed': (facts) => ({
      says: `${what(facts)} it is not said how much is ${facts.missing.split(', ').join(' and how much ')}.`,
      clearedBy: `Operator: weigh it and take in the lot file again. ${CONCEDE}`,
    }),
    'does not add up': (facts) => ({
      says: `${what(facts)}, ${facts.deposited} g deposited, ${facts.recovered} g recovered and ${facts.waste} g waste leave ${facts.difference} g, where at most ${facts.most} % may be missing or too much.`,
      clearedBy: `Operator: correct the mass that is wrong. ${CONCEDE}`,
    }),
  },
};
