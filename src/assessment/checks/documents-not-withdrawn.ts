import { revisionKey } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { kindTitle } from '../../kinds/catalogue.js';
import { allUnits, type Check, subject } from './check.js';

export const documentsNotWithdrawn: Check = {
  code: 'documents-not-withdrawn',
  title: 'No pinned document withdrawn for cause',
  clause: 'ISO 13485:2016 4.2.4',
  moment: 'build',
  asks: 'Is every document revision that this lot rests on still free of a withdrawal for cause?',
  run(facts) {
    return {
      findings: facts.dossier.withdrawn.map(({ kind, key, revision, at, by, reason }) => ({
        rule: 'withdrawn for cause',
        subjects: [subject(kind, key)],
        facts: { document: revisionKey(key, revision), at },
        effect: 'cannot be decided' as const,
        mayBeDecided: 'concession' as const,
        says: `${kindTitle(kind)} ${revisionKey(key, revision)} was withdrawn at ${timeText(at)} by ${by}: ${reason}`,
        clearedBy: 'Process and quality engineer: decide what the withdrawal means for this lot, with a rationale.',
        units: allUnits(facts),
      })),
      basis: `${facts.dossier.pinned.length} pinned revisions`,
    };
  },
};
