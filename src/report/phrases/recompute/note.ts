import type { Assessment } from '../../../assessment/assessment.js';
import type { Facts } from '../../../dossier/facts.js';
import { ACCEPTANCE } from './acceptance.js';
import { checksNote } from './checks.js';
import { indicesNote } from './indices.js';
import { movesNote } from './moves.js';
import { PLANS } from './plans.js';
import { READING } from './reading.js';
import { TRUST } from './trust.js';

export interface NoteFacts {
  readonly facts: Facts;
  readonly assessment: Assessment;
  /** Number of the record. */
  readonly record: string;
}

/**
 * A note for a stranger who has nothing but the PDF and general tools: from it alone everything in the record can be
 * computed again. A test does so, with a script that was written from it and shares nothing with this program.
 */
export function recomputeNote(note: NoteFacts): string {
  const { facts, record } = note;
  return `How to assess lot ${facts.dossier.lot} again, with this PDF and without the program that made it
(record ${record})

${READING}
${movesNote(facts)}${TRUST}
${ACCEPTANCE}
${PLANS}
${checksNote(note)}
${indicesNote(note)}
Unaltered is not the same as true, complete or released. Use in patients needs qualified clinical, quality and
regulatory review under the law of the place.
`;
}
