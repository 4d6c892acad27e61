import { builtDesigns } from '../built-designs.js';
import { type Check, isAfter, subject } from './check.js';

export const caseOpen: Check = {
  code: 'case-open',
  since: 1,
  clause: 'ISO 13485:2016 7.2.1, 7.2.2',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const built = builtDesigns(facts);
    const cancelled = built.filter(({ case: { status } }) => status?.is === 'cancelled');
    return {
      findings: cancelled.map(({ code, serials, builtAt, case: { status } }) => ({
        rule: isAfter(builtAt, status!.at) ? 'built although cancelled' : 'cancelled',
        subjects: [subject('case', code)],
        facts: { case: code, at: status!.at, by: status!.by },
        effect: 'blocks release' as const,
        units: serials,
      })),
      basis: { cases: String(new Set(built.map(({ code }) => code)).size) },
    };
  },
};
