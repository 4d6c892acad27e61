import type { Problem } from '../base/errors.js';
import type { Reads } from '../store/repositories.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/**
 * Families whose alloy a later revision changes although lots of them are there: values of two alloys would stand on one
 * chart, and what earlier lots are said to be made of would change with it.
 */
export async function familyProblems(
  documents: readonly ReadDocument[],
  known: Known,
  { entries }: Pick<Reads, 'entries'>,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const body = bodyIf('family', document);
    const before = body && (await known.revisions('family', body.family)).at(-1)?.body;
    if (!before || before.alloy === body.alloy || (await known.isRecorded(document))) continue;
    const [lot] = await entries.tiedTo('lot', 'family', body.family, 'of family');
    if (!lot) continue;
    problems.push({
      code: 'contradiction',
      file: document.file,
      line: document.lineOf('alloy'),
      field: 'alloy',
      found: `${JSON.stringify(body.alloy)}; lots of the family, such as ${lot.key}, are of ${JSON.stringify(before.alloy)}`,
      expected: 'the alloy that the family has had since its first lot',
      remedy: 'give what is made of another alloy a family of its own, with its specification and plans',
    });
  }
  return problems;
}
