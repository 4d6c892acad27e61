import type { Facts } from '../../dossier/facts.js';
import { receiptSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import type { ClaimNote } from '../assessment.js';
import { gasReceiptsOfBuild, powderReceiptsOfBuild } from '../materials.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { type Check, CONCEDE, type FindingDraft, isAfter, subject, unitsOfBuild } from './check.js';

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
  const what = `${receipt.material}, receipt ${code}`;
  const standing = standingOf(facts, receiptSubject(receipt), receipt.acceptance);
  const unsigned = unapproved(standing, what, 'Quality engineer', { ...common, facts: { receipt: code } });
  if (receipt.status !== 'accepted') {
    findings.push({
      ...common,
      rule: 'not accepted',
      facts: { receipt: code, status: receipt.status },
      effect: receipt.status === 'rejected' ? 'does not conform' : 'cannot be decided',
      says: `${what} went into ${build} and is ${receipt.status === 'rejected' ? 'rejected' : 'still in quarantine'}.`,
      clearedBy: 'Quality engineer: accept the receipt on its certificate, or keep its units on hold.',
    });
  } else if (unsigned) findings.push(unsigned);
  else if (isGood(standing) && isAfter(standing.at, closedAt)) {
    findings.push({
      ...common,
      rule: 'accepted after the build',
      facts: { receipt: code, acceptedAt: standing.at, closedAt },
      effect: 'blocks release',
      mayBeDecided: 'decision',
      says: `${what} was accepted at ${timeText(standing.at)}, after ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: 'Process and quality engineer: show the signed build at risk made before the chamber closed.',
    });
  } else if (isGood(standing)) claims.push(noteOf(`acceptance of receipt ${code}`, standing));
  if (receipt.expiry !== undefined && expiredAt(receipt.expiry, closedAt)) {
    findings.push({
      ...common,
      rule: 'expired',
      mayBeDecided: 'concession',
      facts: { receipt: code, expiry: receipt.expiry, closedAt },
      says: `${what} expired on ${receipt.expiry}, before ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: `Analyst: test the material again, for the rationale. ${CONCEDE}`,
    });
  }
  return findings;
}

export const materialAccepted: Check = {
  code: 'material-accepted',
  title: 'Powder and gas accepted and unexpired',
  clause: 'ISO 13485:2016 7.4.3, 7.5.9.2',
  moment: 'build',
  asks: 'Was every receipt in the powder and the gas accepted before the build, and unexpired on that day?',
  run(facts) {
    const claims: ClaimNote[] = [];
    const looked: string[] = [];
    const findings = facts.lot.body.builds.flatMap((build) => {
      const receipts = [...powderReceiptsOfBuild(facts, build.build), ...gasReceiptsOfBuild(facts, build.build)];
      looked.push(`${build.build}: ${receipts.join(', ')}`);
      return receipts.flatMap((code) => findingsOf(facts, build.build, build.closedAt, code, claims));
    });
    return { findings, claims, basis: looked.join('; ') };
  },
};
