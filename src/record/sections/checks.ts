import type { RecordPage } from '../pdf/page.js';
import type { RecordView } from '../record-view.js';

/** Each rule that a reviewer applies, with its outcome, and what would clear what is open. */
export function drawChecks(pdf: RecordPage, { assessment }: RecordView): void {
  pdf.table({
    caption: 'Checks in the order in which a lot meets them',
    columns: [
      { head: 'Check', width: 3.6 },
      { head: 'Serves', width: 2.6 },
      { head: 'Outcome', width: 1.8 },
      { head: 'Looked at', width: 5 },
    ],
    rows: assessment.checks.map((check) => ({
      cells: [check.title, check.clause, check.outcome, check.basis || 'nothing'],
      attention: check.outcome === 'fails' || check.outcome === 'cannot be decided',
    })),
  });
  const findings = assessment.checks.flatMap((check) => check.findings.map((finding) => ({ check, finding })));
  pdf.table({
    caption: 'What stands against release, and what would clear it',
    columns: [
      { head: 'Check', width: 2.4 },
      { head: 'Effect', width: 1.6 },
      { head: 'What', width: 4.6 },
      { head: 'Implants', width: 1.8 },
      { head: 'Who can clear it, and how', width: 4 },
    ],
    rows: findings.map(({ check, finding }) => ({
      cells: [check.title, finding.effect, finding.says, finding.units.join(', '), finding.clearedBy],
      attention: true,
    })),
    empty: 'Nothing.',
  });
}
