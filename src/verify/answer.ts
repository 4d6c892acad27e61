import type { VerifyStep } from './step.js';

/** What `verify` answers, and what the command ends with. */
export const ANSWERS = {
  'as issued': 0,
  'issuer not compared': 0,
  'another issuer': 9,
  'saved again': 6,
  altered: 6,
  'another version': 8,
  'no record': 2,
} as const;

export type Answer = keyof typeof ANSWERS;

/** Findings that prove that a file shows and carries what was issued, although its bytes are others. */
const SAVED = ['saved again', 'saved after the seal'];

/** What happens to a seal when another program writes the file anew. */
const BROKEN_BY_SAVING = ['sealed content altered', 'seal cut', 'seal unreadable', 'issued without seal'];

/**
 * The one answer to what all steps found: whether it is a record, then whether anything was altered, then whose it is,
 * how it was saved, who wrote it, and last whether the issuer was compared with the one that the reader trusts.
 */
export function answerOf(steps: readonly VerifyStep[]): Answer {
  if (steps.some(({ code }) => code === 'no record')) return 'no record';
  const broken = steps.filter(({ outcome }) => outcome === 'does not hold');
  const isSaved = broken.some(({ code }) => SAVED.includes(code));
  const harmless = isSaved ? [...SAVED, ...BROKEN_BY_SAVING] : [];
  const isForeign = ({ code }: VerifyStep): boolean => code === 'another key' || code === 'other people';
  if (broken.some((step) => !isForeign(step) && !harmless.includes(step.code))) return 'altered';
  if (broken.some(isForeign)) return 'another issuer';
  if (isSaved) return 'saved again';
  if (steps.some(({ outcome }) => outcome === 'not known' || outcome === 'differs')) return 'another version';
  return steps.some(({ step, outcome }) => step === 'key' && outcome === 'holds') ? 'as issued' : 'issuer not compared';
}
