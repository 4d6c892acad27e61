import type { LogFinding } from '../../dossier/schema.js';
import { actOn, countOf, logFindingsOf } from '../log-findings.js';
import type { Check } from './check.js';

/** Findings about what the process did; all others are about whether the log can be trusted. */
export const EXCURSION_RULES = new Set([
  'excursion',
  'break of inert atmosphere',
  'set value not as in the recipe',
  'step out of order',
  'step repeated early',
  'step too short',
  'step too long',
]);

export const isExcursion = (finding: LogFinding): boolean => EXCURSION_RULES.has(finding.rule);

export const logFindingsDecided: Check = {
  code: 'log-findings-decided',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 8.3',
  moment: 'sterilisation',
  run(facts) {
    const excursions = logFindingsOf(facts).filter(isExcursion);
    const counts = (level: LogFinding['level']) =>
      String(countOf(excursions.filter((finding) => finding.level === level)));
    return {
      ...actOn(facts, excursions),
      basis: { reject: counts('reject'), action: counts('action'), alert: counts('alert') },
    };
  },
};
