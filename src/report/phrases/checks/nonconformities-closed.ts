import { DISPOSITIONS } from '../dispositions.js';
import type { CheckPhrases } from '../phrase.js';

export const nonconformitiesClosed: CheckPhrases = {
  title: 'Nonconformities closed',
  asks: 'Is every nonconformity that touches an implant evaluated, decided by process and quality, and closed by quality?',
  recompute: `Each pinned nonconformity acts on what it "touches": an implant itself, of a coupon those that it stands for, of anything
else that is pinned all implants of the lot; without such it is passed over. The first that holds: "not evaluated" without
"evaluation"; "no disposition" without "disposition"; then the decision (as in section 9) on the digest of {"nonconformity", "says",
"touches", "evaluation", "disposition"}: "disposition rejected", or "disposition not decided" unless accepted; "not closed" without
"closure"; "closure not approved" without an "approved" statement on the digest of the same with "closure". Else "not to be released"
for each of its implants whose disposition is "scrap" or "return". All of these [blocks release]. Does not apply without one.`,
  basis: ({ nonconformities }) => `nonconformities that touch the lot: ${nonconformities}`,
  doesNotApply: 'no nonconformity touches an implant of the lot',
  rules: {
    'not evaluated': ({ nonconformity }) => ({
      says: `Nonconformity ${nonconformity} is open: nobody evaluated it.`,
      clearedBy: 'Quality engineer: take it in with its evaluation, the cause and whether the risk file changes.',
    }),
    'no disposition': ({ nonconformity }) => ({
      says: `Nonconformity ${nonconformity} is open: it says of nothing what becomes of it.`,
      clearedBy: 'Quality engineer: take it in with a disposition for everything that it touches.',
    }),
    'disposition not decided': ({ nonconformity }) => ({
      says: `The disposition of nonconformity ${nonconformity} is not signed by both process and quality.`,
      clearedBy: 'Process engineer and quality engineer: decide it, each with a rationale.',
    }),
    'disposition rejected': ({ nonconformity }) => ({
      says: `The disposition of nonconformity ${nonconformity} was rejected.`,
      clearedBy: 'Quality engineer: take it in with another disposition.',
    }),
    'not closed': ({ nonconformity }) => ({
      says: `Nonconformity ${nonconformity} is decided and not closed.`,
      clearedBy: 'Quality engineer: once all was done, take it in with its closure.',
    }),
    'closure not approved': ({ nonconformity }) => ({
      says: `The closure of nonconformity ${nonconformity} is signed by nobody.`,
      clearedBy: 'Quality engineer: approve it.',
    }),
    'not to be released': ({ nonconformity, unit, disposition }) => ({
      says: `By nonconformity ${nonconformity}, ${unit} goes nowhere: ${DISPOSITIONS[disposition as 'scrap'] ?? disposition}.`,
      clearedBy: 'Nobody: reject the implant.',
    }),
  },
};
