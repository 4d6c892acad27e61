import { timeText } from '../../dossier/time-text.js';
import { kindTitle } from '../../kinds/catalogue.js';
import type { RecordPage } from '../pdf/page.js';
import { type RecordView, short } from '../record-view.js';

/** Implants with their cases, and coupons with what they stand for. */
export function drawIdentity(pdf: RecordPage, { facts }: RecordView): void {
  const { lot } = facts;
  pdf.table({
    caption: 'Implants and their cases',
    columns: ['Serial', 'Case', 'Site', 'Side', 'Iteration', 'Needed by', 'Prescriber', 'Build'].map((head) => ({
      head,
    })),
    rows: lot.body.implants.map((implant) => {
      const found = facts.cases.get(implant.case)?.body;
      return [
        implant.serial,
        implant.case,
        found?.anatomicalSite ?? 'withheld',
        found?.side ?? 'withheld',
        `built ${implant.designIteration}${found ? `, asked for ${found.designIteration}` : ''}`,
        found?.neededBy ?? 'withheld',
        found ? `${found.prescriber.name}, ${found.prescriber.institution}` : 'withheld',
        implant.build,
      ];
    }),
  });
  pdf.table({
    caption: 'Coupons',
    columns: [
      { head: 'Coupon', width: 2 },
      { head: 'Build', width: 1.6 },
      { head: 'Zones', width: 2.4 },
      { head: 'Stands for', width: 2.4 },
      { head: 'Rationale', width: 5 },
    ],
    rows: lot.body.coupons.map((coupon) => [
      coupon.coupon,
      coupon.build,
      coupon.zones.map((zone) => `${zone.recipeZone} (${zone.layers.from} to ${zone.layers.to})`).join('; '),
      coupon.standsFor.join(', '),
      coupon.rationale,
    ]),
  });
}

/** The documents that the lot rests on, each pinned to its revision, and what files claim of them. */
export function drawDocuments(pdf: RecordPage, { facts, assessment }: RecordView): void {
  pdf.table({
    caption: 'Entries in the lot file',
    columns: ['Kind', 'Identity', 'Revision', 'Recorded', 'Digest'].map((head) => ({ head })),
    rows: facts.dossier.pinned.map((item) => [
      kindTitle(item.kind),
      item.key,
      String(item.revision),
      timeText(item.recordedAt),
      [{ text: short(item.digest), style: 'mono' as const }],
    ]),
  });
  const claims = assessment.checks.flatMap((check) => check.claims);
  pdf.table({
    caption: 'Approvals, acceptances and decisions that the release checks rest on',
    columns: [
      { head: 'What', width: 5 },
      { head: 'Standing', width: 2 },
      { head: 'By', width: 3 },
      { head: 'At', width: 3 },
    ],
    rows: claims.map((claim) => [
      claim.what,
      claim.how,
      `${facts.people.get(claim.by)?.body.name ?? claim.by} (${claim.by})`,
      timeText(claim.at),
    ]),
  });
}
