import type { CurrentAssessments } from '../../lots/current-assessments.js';
import type { LotLine } from '../../lots/lot-overview.js';
import { lotAddress, lotFamilyAddress } from '../../report/page-addresses.js';
import { TODAY } from '../../report/phrases/today.js';
import type { Duty } from './duty.js';

/** Signals on the charts of families at points of open lots: nobody has said what they come from. */
export async function signalDuties(current: CurrentAssessments, lines: readonly LotLine[]): Promise<Duty[]> {
  const duties: Duty[] = [];
  for (const { lot, neededBy } of lines) {
    const capability = (await current.assessmentOf(lot))?.assessment.capability ?? [];
    const count = capability.reduce((sum, { chart }) => sum + (chart?.signals.length ?? 0), 0);
    if (count === 0) continue;
    duties.push({
      what: TODAY.signals(count),
      of: { text: lot, href: lotAddress(lot) },
      units: [],
      by: neededBy,
      overdue: false,
      button: { text: TODAY.seeCharts, href: lotFamilyAddress(lot) },
    });
  }
  return duties;
}
