import type { RecordChange } from '../record-change.js';
import { capital } from './capital.js';
import { DECISION } from './decision.js';
import { differenceText } from './differences.js';
import { signerText, subjectText } from './signatures.js';

/** One change of a record against the revision before, as a sentence. */
export function recordChangeText(change: RecordChange): string {
  switch (change.code) {
    case 'verdict':
      return verdictText(change);
    case 'decision': {
      const { serial, before, after } = change;
      return `Decision on ${serial}: ${after ?? DECISION.open}, before ${before ?? DECISION.open}.`;
    }
    case 'fact':
      return sentence(differenceText(change.what));
    case 'signed': {
      const { statement } = change;
      return `Signed as ${statement.meaning} by ${signerText(statement)}: ${subjectText(statement)}.`;
    }
    case 'rules':
      return `Assessed by the rules of version ${change.after}, before by those of version ${change.before}.`;
    case 'made by an earlier version':
      return 'The superseded revision was made by an earlier version of this program: what changed is not told here.';
  }
}

function verdictText({ serial, before, after }: Extract<RecordChange, { code: 'verdict' }>): string {
  if (after === null) return `${serial} is no longer part of the lot.`;
  return before === null ? `${serial} is new: ${after}.` : `${serial}: ${after}, before ${before}.`;
}

const sentence = (words: string): string => `${capital(words)}${/[.!?]$/.test(words) ? '' : '.'}`;
