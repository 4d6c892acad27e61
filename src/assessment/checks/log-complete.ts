import type { Facts } from '../../dossier/facts.js';
import { seenBefore } from '../../process-logs/seen-before.js';
import { coverageOf, WHOLE_BUILD } from '../coverage.js';
import { actOn, logFindingsOf } from '../log-findings.js';
import { type Check, type FindingDraft, subject } from './check.js';
import { isExcursion } from './log-findings-decided.js';

export const logComplete: Check = {
  code: 'log-complete',
  title: 'Process log complete from closing to opening',
  clause: 'ISO 13485:2016 7.5.1, 7.5.6, 7.5.9.2',
  moment: 'sterilisation',
  asks: 'Is there a log of each build, without gaps, missing values or layers that were never logged?',
  run(facts) {
    const missing: FindingDraft[] = facts.lot.body.builds
      .filter((build) => !facts.logParts.has(build.build))
      .map((build) => ({
        rule: 'no log',
        subjects: [subject('build', build.build)],
        facts: { build: build.build },
        effect: 'cannot be decided',
        says: `Build ${build.build} has no process log.`,
        clearedBy: 'Operator: take in the log of the run.',
        units: unitsOf(facts, build.build),
      }));
    const { findings, claims } = actOn(
      facts,
      logFindingsOf(facts).filter((finding) => !isExcursion(finding)),
    );
    return {
      findings: [...missing, ...repeatedLogs(facts), ...findings],
      claims,
      basis: facts.dossier.logs
        .map((log) => `${log.fileName}: ${log.rows} rows, ${log.rejectedRows} rejected`)
        .join('; '),
    };
  },
};

/** One recording cannot be the log of two closures: one of the two builds has none. */
function repeatedLogs(facts: Facts): FindingDraft[] {
  const { logs } = facts.dossier;
  return logs.flatMap((log, index) => {
    const seen = seenBefore(log, logs.slice(0, index));
    if (seen === undefined || seen.earlier.build === log.build) return [];
    const { earlier } = seen;
    const builds = [earlier.build, log.build];
    return [
      {
        rule: 'one log for two builds',
        subjects: builds.map((build) => subject('build', build)),
        facts: { textSha256: log.textSha256 },
        effect: 'cannot be decided',
        says: `${log.fileName} of ${log.build} has the same content as ${earlier.fileName} of ${earlier.build}.`,
        clearedBy: 'Operator: take in the log of each run from the recorder.',
        units: [...new Set(builds.flatMap((build) => unitsOf(facts, build)))],
      },
    ];
  });
}

const unitsOf = (facts: Facts, build: string): string[] => [
  ...coverageOf(facts, { build, places: WHOLE_BUILD }).implants,
];
