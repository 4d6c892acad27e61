import type { Facts } from '../../dossier/facts.js';
import { receiptSubject } from '../../dossier/signable.js';
import type { Build } from '../../kinds/lot.js';
import type { ClaimNote } from '../assessment.js';
import { receiptsOfBuild } from '../materials.js';
import { riskAsked } from '../risk-builds.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Powder and gas are good for the whole day of expiry, wherever the cell is: compared as calendar dates. */
const expiredAt = (expiry: string, at: string): boolean => expiry < at.slice(0, 10);

function findingsOf(facts: Facts, build: string, closedAt: string, code: string, claims: ClaimNote[]): FindingDraft[] {
  const receipt = facts.receipts.get(code)!.body;
  const findings: FindingDraft[] = [];
  const common = {
    subjects: [subject('receipt', code), subject('build', build)],
    effect: 'cannot be decided' as const,
    units: unitsOfBuild(facts, build),
  };
  const what = { receipt: code, material: receipt.material };
  const standing = standingOf(facts, receiptSubject(receipt), receipt.acceptance);
  const unsigned = unapproved(standing, { ...common, facts: what });
  if (receipt.status !== 'accepted') {
    findings.push({
      ...common,
      rule: 'not accepted',
      facts: { ...what, build, status: receipt.status },
      effect: receipt.status === 'rejected' ? 'does not conform' : 'cannot be decided',
    });
  } else if (unsigned) findings.push(unsigned);
  else if (isGood(standing) && isAfter(standing.at, closedAt) && !riskAsked(facts, build, code)) {
    findings.push({
      ...common,
      rule: 'accepted after the build',
      facts: { ...what, build, acceptedAt: standing.at, closedAt },
      effect: 'blocks release',
      mayBeDecided: 'decision',
    });
  } else if (isGood(standing)) claims.push(noteOf('acceptance', { key: code }, standing));
  if (receipt.expiry !== undefined && expiredAt(receipt.expiry, closedAt)) {
    findings.push({
      ...common,
      rule: 'expired',
      mayBeDecided: 'concession',
      facts: { ...what, build, expiry: receipt.expiry, closedAt },
    });
  }
  return findings;
}

/** Intake refuses such a lot file; a release does not rest on that alone. */
function unnamedPowder(facts: Facts, { build, powder, state }: Build): FindingDraft[] {
  const { implants, coupons } = facts.lot.body;
  const isDeposited = [...implants, ...coupons].some((part) => part.build === build);
  if (state === 'planned' || powder.length > 0 || !isDeposited) return [];
  return [
    {
      rule: 'no powder named',
      subjects: [subject('build', build)],
      effect: 'cannot be decided',
      units: unitsOfBuild(facts, build),
      facts: { build },
    },
  ];
}

export const materialAccepted: Check = {
  code: 'material-accepted',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 7.5.9.2',
  moment: 'build',
  run(facts) {
    const claims: ClaimNote[] = [];
    const looked: string[] = [];
    const findings = facts.lot.body.builds.flatMap((build) => {
      const receipts = receiptsOfBuild(facts, build.build);
      looked.push(`${build.build}: ${receipts.join(', ')}`);
      return [
        ...unnamedPowder(facts, build),
        ...receipts.flatMap((code) => findingsOf(facts, build.build, build.closedAt, code, claims)),
      ];
    });
    return { findings, claims, basis: { receipts: looked.join('; ') } };
  },
};
