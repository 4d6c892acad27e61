import type { Problem } from '../base/errors.js';
import { currentAssessment } from '../lots/current-assessment.js';
import { neverConceded } from '../lots/never-conceded.js';
import { findingWords } from '../report/assessment-words.js';
import type { Reads } from '../store/repositories.js';
import { bodyIf } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** Concessions of what no concession repairs: refused where they come in, and not only where somebody would sign them. */
export async function concessionProblems(documents: readonly ReadDocument[], read: Reads): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const body = bodyIf('nonconformity', document);
    const never = body && (await neverConceded(read, (lot) => currentAssessment(read, lot), body));
    if (!never) continue;
    const field = `disposition[${body.disposition!.findIndex(({ as }) => as === 'concession')}].as`;
    const { says, clearedBy } = findingWords(never.check, never.finding);
    problems.push({
      code: 'never-conceded',
      file: document.file,
      line: document.lineOf(field),
      field,
      found: `a concession against this: ${says}`,
      expected: 'another disposition: no concession lets a unit go against it',
      remedy: clearedBy,
    });
  }
  return problems;
}
