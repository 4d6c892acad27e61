import { revisionKey } from '../../dossier/facts.js';
import { allUnits, type Check, subject } from './check.js';

export const documentsNotWithdrawn: Check = {
  code: 'documents-not-withdrawn',
  clause: 'ISO 13485:2016 4.2.4',
  moment: 'build',
  run(facts) {
    return {
      findings: facts.dossier.withdrawn.map(({ kind, key, revision, at, by, reason }) => ({
        rule: 'withdrawn for cause',
        subjects: [subject(kind, key)],
        facts: { kind, document: revisionKey(key, revision), at, by, reason },
        effect: 'cannot be decided' as const,
        mayBeDecided: 'concession' as const,
        units: allUnits(facts),
      })),
      basis: { pinned: String(facts.dossier.pinned.length) },
    };
  },
};
