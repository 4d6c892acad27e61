import { type RiskTaken, risksTaken } from '../risk-builds.js';
import { type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Both signatures before the chamber closed, for exactly these implants (docs/trade.md 2.14). */
export const riskBuildSigned: Check = {
  code: 'risk-build-signed',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 7.5.1, 8.3.2',
  moment: 'build',
  run(facts) {
    const taken = risksTaken(facts);
    return {
      findings: taken.flatMap((risk) => findingsOf(risk, unitsOfBuild(facts, risk.build.build))),
      basis: { builds: taken.map(({ build, receipt }) => `${build.build}: ${receipt}`).join('; ') },
      doesNotApply: taken.length === 0,
    };
  },
};

function findingsOf(
  { build, receipt, asked, decided, decidedAt }: RiskTaken,
  units: readonly string[],
): FindingDraft[] {
  const finding = (rule: string, of: readonly string[], more: FindingDraft['facts'] = {}): FindingDraft => ({
    rule,
    subjects: [subject('risk-build', build.build), subject('receipt', receipt)],
    facts: { build: build.build, receipt, closedAt: build.closedAt, ...more },
    effect: 'blocks release',
    units: of,
    mayBeDecided: 'decision',
  });
  const unnamed = units.filter((unit) => !asked.body.implants.includes(unit));
  return [
    ...(decided?.outcome === 'rejected' ? [finding('rejected', units)] : []),
    ...(decidedAt === undefined && decided?.outcome !== 'rejected' ? [finding('not signed by both', units)] : []),
    ...(decidedAt !== undefined && isAfter(decidedAt, build.closedAt)
      ? [finding('signed after the chamber closed', units, { at: decidedAt })]
      : []),
    ...(unnamed.length > 0 ? [finding('unit not named', unnamed, { implants: unnamed.join(', ') })] : []),
  ];
}
