import type { Problem } from '../base/errors.js';
import { signalId } from '../dossier/signal-id.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/**
 * Outcomes that name another signal than the one of their plan, rule and points: people would read and sign what one signal
 * came from, and another would be closed by it.
 */
export async function signalProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const outcome = bodyIf('signal-outcome', document);
    if (outcome === undefined || (await known.isRecorded(document))) continue;
    const { signal, plan, rule, points } = outcome;
    const own = signalId(plan.plan, plan.revision, rule, points);
    if (signal === own) continue;
    problems.push({
      code: 'contradiction',
      file: document.file,
      line: document.lineOf('signal'),
      field: 'signal',
      found: signal,
      expected: `${own}, the signal ${rule} of ${plan.plan} revision ${plan.revision} at ${points.join(', ')}`,
      remedy: 'begin the form at the signal on the page of its characteristic, or correct plan, rule and points',
    });
  }
  return problems;
}
