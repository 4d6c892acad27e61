import { AppError } from '../../base/errors.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { closuresOf } from '../../kinds/build-chain.js';
import { kindTitle } from '../../kinds/catalogue.js';
import type { Implant } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { short } from '../../report/anchors.js';
import { claimWords } from '../../report/assessment-words.js';
import { notRecordedText } from '../../report/phrases/not-recorded.js';
import { humanReadable } from '../papers/gs1.js';
import { codeOf } from '../papers/unit-code.js';
import { type RecordView, shownUnits } from '../record-view.js';

/** Implants with their cases, and coupons with what they stand for. */
export function drawIdentity(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const { lot } = facts;
  const shown = new Set(shownUnits(view).map(({ serial }) => serial));
  pdf.table({
    caption: 'Implants and their cases',
    columns: ['Serial', 'Case', 'Site', 'Side', 'Iteration', 'Needed by', 'Prescriber', 'Build, place'].map((head) => ({
      head,
    })),
    rows: lot.body.implants
      .filter(({ serial }) => shown.has(serial))
      .map((implant) => {
        const found = facts.cases.get(implant.case)?.body;
        return [
          implant.serial,
          implant.case,
          found?.anatomicalSite ?? 'withheld',
          found?.side ?? 'withheld',
          `built ${implant.designIteration}${found ? `, asked for ${found.designIteration}` : ''}`,
          found?.neededBy ?? 'withheld',
          found ? `${found.prescriber.name}, ${found.prescriber.institution}` : 'withheld',
          [
            ...closuresOf(implant),
            ...[implant.position, implant.orientation].filter((part) => part !== undefined),
          ].join(', '),
        ];
      }),
  });
  pdf.table({
    caption: 'Codes, prescriptions and images',
    columns: [
      { head: 'Serial', width: 1.9 },
      { head: 'Code of the unit', width: 3.4 },
      { head: 'Prescription', width: 3 },
      { head: 'Prescribed characteristics', width: 3.4 },
      { head: 'Images of', width: 1.7 },
    ],
    rows: lot.body.implants
      .filter(({ serial }) => shown.has(serial))
      .map((implant) => {
        const found = facts.cases.get(implant.case)?.body;
        return [
          implant.serial,
          codeText(facts, implant),
          found ? `${found.prescription.reference}, ${timeText(found.prescription.at)}` : 'withheld',
          found ? (found.prescribedCharacteristics ?? 'none stated') : 'withheld',
          found ? (found.imagingDate ?? 'no date stated') : 'withheld',
        ];
      }),
  });
  pdf.paragraph(notRecordedText('Check of each design against the envelope of the family'));
  pdf.table({
    caption: 'Coupons',
    columns: [
      { head: 'Coupon', width: 2 },
      { head: 'Build', width: 1.6 },
      { head: 'Zones', width: 2.4 },
      { head: 'Stands for', width: 2.4 },
      { head: 'Study', width: 1.8 },
      { head: 'Rationale', width: 4 },
    ],
    rows: lot.body.coupons
      .filter(({ standsFor }) => standsFor.some((serial) => shown.has(serial)))
      .map((coupon) => [
        coupon.coupon,
        coupon.build,
        coupon.zones.map((zone) => `${zone.recipeZone} (${zone.layers.from} to ${zone.layers.to})`).join('; '),
        coupon.standsFor.join(', '),
        coupon.study ? `${coupon.study.study} rev ${coupon.study.revision}` : 'none named',
        coupon.rationale,
      ]),
  });
}

function codeText(facts: Facts, implant: Implant): string {
  try {
    const code = codeOf(facts, implant);
    return typeof code === 'string' ? `serial ${code}; this route or family has no UDI` : `UDI ${humanReadable(code)}`;
  } catch (error) {
    if (error instanceof AppError) return `no UDI: ${error.message}`;
    throw error;
  }
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
      claimWords(claim),
      claim.how,
      `${facts.people.get(claim.by)?.body.name ?? claim.by} (${claim.by})`,
      timeText(claim.at),
    ]),
  });
}
