import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { seenBefore } from '../../process-logs/seen-before.js';
import { coverageOf, WHOLE_BUILD } from '../coverage.js';
import { actOn, logFindingsOf } from '../log-findings.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';
import { isExcursion } from './log-findings-decided.js';

export const logComplete: Check = {
  code: 'log-complete',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.6, 7.5.9.2',
  moment: 'sterilisation',
  run(facts) {
    const missing: FindingDraft[] = facts.lot.body.builds
      .filter((build) => !facts.logParts.has(build.build))
      .map((build) => ({
        rule: 'no log',
        subjects: [subject('build', build.build)],
        facts: { build: build.build },
        effect: 'cannot be decided',
        units: unitsOf(facts, build.build),
      }));
    const { findings, claims } = actOn(
      facts,
      logFindingsOf(facts).filter((finding) => !isExcursion(finding)),
    );
    return {
      findings: [...missing, ...repeatedLogs(facts), ...findings],
      claims,
      basis: { logs: canonicalJson(facts.dossier.logs.map((log) => [log.fileName, log.rows, log.rejectedRows])) },
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
        facts: {
          textSha256: log.textSha256,
          file: log.fileName,
          build: log.build,
          earlierFile: earlier.fileName,
          earlierBuild: earlier.build,
        },
        effect: 'cannot be decided',
        units: [...new Set(builds.flatMap((build) => unitsOf(facts, build)))],
      },
    ];
  });
}

const unitsOf = (facts: Facts, build: string): string[] => [
  ...coverageOf(facts, { build, places: WHOLE_BUILD }).implants,
];
