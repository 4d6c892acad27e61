import { AppError } from '../../base/errors.js';
import type { FamilyTrend } from '../../trend/family-trend.js';
import type { LotFiles } from '../lots.js';
import { type Document, FICTION, PEOPLE } from '../names.js';
import { PLANTED } from './strip-lots.js';
import { BLEND, GAUGES, STRIP_FAMILY } from './strip-site.js';

const AT = '2026-08-04T09:00:00Z';
const FOLDER = 'strips-signals';

/** What people found behind the first signal of each planted change; the signals after it stay open. */
const FOUND = [
  {
    ...PLANTED.drift,
    cause: `the rest of the milling spindle wore from lot to lot, and was ground anew (${FICTION})`,
    outcome: 'process set right',
  },
  {
    ...PLANTED.step,
    cause: `powder ${BLEND} holds a heat with less zinc; hardness keeps its limit, and is watched (${FICTION})`,
    outcome: 'no action',
    event: { kind: 'powder-state', key: BLEND },
  },
  {
    ...PLANTED.gauge,
    cause: `the new probe of ${GAUGES.flat} was screwed in loosely, and scatters (${FICTION})`,
    outcome: 'measurement set right',
    event: { kind: 'instrument', key: GAUGES.flat },
  },
] as const;

interface Saying {
  readonly trend: FamilyTrend;
  readonly bringIn: (act: { readonly folder: string; files(): LotFiles }) => Promise<void>;
}

/** Process engineering says what the signals of rib strips came from, and quality approves it. */
export const outcomesMoment = ({ trend, bringIn }: Saying) => ({
  at: AT,
  happen: async () => {
    const documents: Record<string, Document> = {};
    for (const { characteristic, lot, ...found } of FOUND) {
      const { studied } = await trend.trend(characteristic, STRIP_FAMILY);
      const first = studied?.study.chart.signals.toSorted((a, b) => a.last - b.last)[0];
      if (!studied || first?.lots.at(-1) !== lot) {
        throw new AppError('UNEXPECTED', `in the demo ${characteristic} does not signal first at lot ${lot}`);
      }
      const { plan, revision } = studied.input.plan;
      documents[`signals/${characteristic}.yaml`] = {
        ...{ kind: 'signal-outcome', format: 1, signal: first.id, plan: { plan, revision } },
        ...{ rule: first.rule, points: first.points, lots: first.lots },
        ...found,
        ...{ by: PEOPLE.process, at: AT },
      };
    }
    await bringIn({ folder: FOLDER, files: () => ({ documents, texts: {} }) });
  },
});
