import type { Assessment, UnitResult } from '../assessment/assessment.js';
import { checkTitle } from './assessment-words.js';
import { NOTHING_AGAINST } from './phrases/nothing-against.js';

/**
 * What is said of an implant against which nothing stands. Page 1 may not call every check conforming while one of them
 * fails further inside, even when it fails for another implant.
 */
export function nothingAgainst({ checks }: Assessment, { verdict, open }: UnitResult): string {
  if (verdict !== 'conforms') return NOTHING_AGAINST.doesNotConform;
  const failing = checks.filter(({ outcome }) => outcome === 'fails' || outcome === 'cannot be decided');
  if (failing.length > 0) {
    return NOTHING_AGAINST.others(failing.map(({ code }) => checkTitle(code)));
  }
  return open.length === 0 ? NOTHING_AGAINST.all : NOTHING_AGAINST.allDue;
}
