import type { Facts, Recorded } from '../dossier/facts.js';
import { receiptSubject, revisionSubject } from '../dossier/signable.js';
import type { Build } from '../kinds/lot.js';
import { type RiskBuild, riskBuild } from '../kinds/risk-build.js';
import { isAfter } from './checks/check.js';
import { type Decided, decisionOn } from './finding-decisions.js';
import { receiptsOfBuild } from './materials.js';
import { isGood, standingOf } from './signed.js';

/** Material that nobody had accepted when a chamber closed, and of which somebody asked to build from it all the same. */
export interface RiskTaken {
  readonly build: Pick<Build, 'build' | 'closedAt'>;
  readonly receipt: string;
  readonly asked: Recorded<RiskBuild>;
  readonly decided: Decided | undefined;
  /** When the second of process and quality signed; undefined while one of them has not. */
  readonly decidedAt: string | undefined;
  /** When the receipt was accepted after all. */
  readonly acceptedAt: string | undefined;
}

/** The build at risk that was asked for one receipt of one build. */
export const riskAsked = ({ riskBuilds }: Facts, build: string, receipt: string): Recorded<RiskBuild> | undefined => {
  const found = riskBuilds.get(build);
  return found?.body.receipts.includes(receipt) ? found : undefined;
};

/** In the order of the builds, and of the receipts in each. */
export function risksTaken(facts: Facts): RiskTaken[] {
  return facts.lot.body.builds.flatMap((build) =>
    receiptsOfBuild(facts, build.build).flatMap((receipt): RiskTaken[] => {
      const asked = riskAsked(facts, build.build, receipt);
      if (asked === undefined) return [];
      const acceptedAt = acceptanceAt(facts, receipt);
      if (acceptedAt !== undefined && !isAfter(acceptedAt, build.closedAt)) return [];
      const decided = decisionOn(facts, { id: subjectOf(asked).digest });
      return [{ build, receipt, asked, decided, decidedAt: decidedAt(decided), acceptedAt }];
    }),
  );
}

const subjectOf = ({ body, revision, digest }: Recorded<RiskBuild>) =>
  revisionSubject({ kind: riskBuild.kind, key: body.build, revision, digest });

function acceptanceAt(facts: Facts, code: string): string | undefined {
  const receipt = facts.receipts.get(code)!.body;
  if (receipt.status !== 'accepted') return undefined;
  const standing = standingOf(facts, receiptSubject(receipt), receipt.acceptance);
  return isGood(standing) ? standing.at : undefined;
}

/** It counts from the second signature on: each of the two roles signs once. */
function decidedAt(decided: Decided | undefined): string | undefined {
  if (decided?.outcome !== 'accepted') return undefined;
  return decided.statements
    .map(({ at }) => at)
    .sort((a, b) => Date.parse(a) - Date.parse(b))
    .at(-1);
}
