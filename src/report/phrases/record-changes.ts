import type { RecordChange } from '../record-change.js';
import { capital } from './capital.js';
import { DECISION } from './decision.js';
import { differenceText } from './differences.js';
import { signedAsText } from './release-steps.js';
import { signerText, subjectText } from './signatures.js';

/** One change of a record against the revision before, as a sentence. */
export function recordChangeText(change: RecordChange): string {
  switch (change.code) {
    case 'verdict':
      return verdictText(change);
    case 'decision': {
      const { serial, before, after } = change;
      return `Decision on ${serial}: ${decidedText(after)}, before ${decidedText(before)}.`;
    }
    case 'fact':
      return sentence(differenceText(change.what));
    case 'signed': {
      const { statement } = change;
      return `Signed as ${signedAsText(statement)} by ${signerText(statement)}: ${subjectText(statement)}.`;
    }
    case 'rules':
      return `Assessed by the rules of version ${change.after}, before by those of version ${change.before}.`;
    case 'not compared':
      return notComparedText(change);
  }
}

const decidedText = (decided: Extract<RecordChange, { code: 'decision' }>['after']): string =>
  decided === null ? DECISION.open : signedAsText(decided);

function notComparedText({ record, why, part }: Extract<RecordChange, { code: 'not compared' }>): string {
  const before = `${record.number} revision ${record.revision}`;
  const compare = 'compare the two records themselves.';
  switch (why) {
    case 'enclosure not readable':
      return `What changed since ${before} is not told here: this version of the program does not read that record; ${compare}`;
    case 'assessment not readable':
      return `What changed since ${before} is not told here: its assessment cannot be read in this data folder; ${compare}`;
    case 'lot file not here':
      return `Which facts changed since ${before} is not told here: its lot file is not in this data folder; ${compare}`;
    case 'lot file not readable': {
      const what = part === null ? 'its lot file' : `the part ${part} of its lot file`;
      return `Which facts changed since ${before} is not told here: ${what} cannot be read in this data folder; ${compare}`;
    }
  }
}

function verdictText({ serial, before, after }: Extract<RecordChange, { code: 'verdict' }>): string {
  if (after === null) return `${serial} is no longer part of the lot.`;
  return before === null ? `${serial} is new: ${after}.` : `${serial}: ${after}, before ${before}.`;
}

const sentence = (words: string): string => `${capital(words)}${/[.!?]$/.test(words) ? '' : '.'}`;
