import { revisionKey } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { allUnits, type Check, type FindingDraft, isAfter, subject } from './check.js';

export const specificationInForce: Check = {
  code: 'specification-in-force',
  title: 'Specification in force at the build',
  clause: 'ISO 13485:2016 4.2.3, 4.2.4, 8.2.6',
  moment: 'build',
  asks: 'Was the specification revision effective, approved, and fixed before the data were known?',
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
        facts: { specification: key, effectiveFrom, closedAt: first },
        says: `Specification ${key} is effective from ${timeText(effectiveFrom)}, after the first build was closed at ${timeText(first)}.`,
        clearedBy: 'Quality engineer: assess by the revision that was in force, or justify the later limits.',
      });
    }
    if (!approval) {
      findings.push({
        ...common,
        rule: 'no approval',
        facts: { specification: key },
        says: `Specification ${key} carries no approval.`,
        clearedBy: 'Quality engineer: approve the specification.',
      });
    } else if (isAfter(approval.at, first)) {
      findings.push({
        ...common,
        rule: 'approved after the build',
        facts: { specification: key, approvedAt: approval.at, closedAt: first },
        says: `Specification ${key} was approved at ${timeText(approval.at)}, after the first build was closed at ${timeText(first)}.`,
        clearedBy: 'Quality engineer: state why limits were approved after the build, or use the earlier revision.',
      });
    }
    return {
      findings,
      claims:
        approval && findings.length === 0
          ? [{ what: `approval of specification ${key}`, by: approval.by, at: approval.at }]
          : [],
      basis: key,
    };
  },
};
