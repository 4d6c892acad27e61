import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { allUnits, type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const specificationInForce: Check = {
  code: 'specification-in-force',
  since: 1,
  clause: 'ISO 13485:2016 4.2.3, 4.2.4, 8.2.6',
  moment: 'build',
  run(facts) {
    const { specification, lot } = facts;
    const key = revisionKey(specification.body.specification, specification.body.revision);
    const first = lot.body.builds.map((build) => build.closedAt).sort((a, b) => Date.parse(a) - Date.parse(b))[0]!;
    const { effectiveFrom, approval } = specification.body;
    const findings: FindingDraft[] = [];
    const common = {
      subjects: [subject('specification', specification.body.specification)],
      effect: 'cannot be decided' as const,
      units: allUnits(facts),
    };
    if (isAfter(effectiveFrom, first)) {
      findings.push({
        ...common,
        rule: 'not yet effective',
        mayBeDecided: 'concession',
        facts: { specification: key, effectiveFrom, closedAt: first },
      });
    }
    const subjectSigned = revisionSubject({
      ...specification,
      kind: 'specification',
      key: specification.body.specification,
    });
    const standing = standingOf(facts, subjectSigned, approval);
    const missing = unapproved(standing, {
      ...common,
      facts: { specification: key },
    });
    if (missing) findings.push(missing);
    else if (isGood(standing) && isAfter(standing.at, first)) {
      findings.push({
        ...common,
        rule: 'approved after the build',
        mayBeDecided: 'concession',
        facts: { specification: key, approvedAt: standing.at, closedAt: first },
      });
    }
    return {
      findings,
      claims: isGood(standing) ? [approvalOf('specification', key, standing)] : [],
      basis: { specification: key },
    };
  },
};
