import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { builtZones, type LotFiles, placeOf, zonesOf } from '../lots.js';
import { type Document, PEOPLE } from '../names.js';
import { COATED_FAMILY, COATED_RECIPE, COATED_SPECIFICATION, COATED_STUDY, SECOND_MACHINE } from '../stories/names.js';
import { done } from '../stories/steps.js';

/** The longest and narrowest plates of the coated family: built for a study before the first lot, and used up by it. */

export const WORST_LOT = 'C-2026-00';
const RUN = 30;
const CASE = 'K-STUDY-30';
const BUILD = `${SECOND_MACHINE}-${RUN}`;
const upTo = (count: number): number[] => Array.from({ length: count }, (_, index) => index + 1);
export const WORST_PLATES = upTo(3).map((n) => `CP-${RUN}-${n}`);
export const WORST_COUPONS = upTo(10).map((n) => `X${RUN}-${n}`);
const zones = zonesOf(WORST_PLATES.length, WORST_COUPONS.length);

const part = (n: number): Document => ({ build: BUILD, recipe: COATED_RECIPE, ...placeOf(n) });

const lot: Document = {
  ...{ kind: 'lot', format: 1, lot: WORST_LOT, family: COATED_FAMILY, specification: COATED_SPECIFICATION },
  opened: { by: PEOPLE.process, at: '2026-07-06T05:45:00Z' },
  builds: [
    {
      ...{ build: BUILD, machine: SECOND_MACHINE, run: RUN, operator: PEOPLE.operator },
      ...{ closedAt: '2026-07-06T06:30:00Z', openedAt: '2026-07-06T18:10:00Z' },
      powder: [{ state: 'PS-02', chargedG: '240' }],
    },
  ],
  implants: WORST_PLATES.map((serial, index) => ({
    ...{ serial, case: CASE, designIteration: 1, zones: builtZones(zones, `P${index + 1}`), ...part(index + 1) },
  })),
  coupons: WORST_COUPONS.map((coupon, index) => ({
    ...{ coupon, zones: builtZones(zones, `C${index + 1}`), ...part(index + 1), study: COATED_STUDY },
    ...{ standsFor: WORST_PLATES, rationale: 'coupon beside the plates, same zone class and layers (fictional)' },
  })),
  steps: [
    done('clean', '2026-07-07T05:30:00Z'),
    done('dry', '2026-07-07T07:00:00Z'),
    done('coat', '2026-07-08T12:00:00Z'),
    done('pack', '2026-07-10T10:00:00Z'),
    done('sterilise', '2026-07-14T12:00:00Z', { note: '31.6 kGy, the highest dose that is allowed (fictional)' }),
  ],
  fates: WORST_PLATES.map((serial) => ({ part: serial, as: 'tested', at: '2026-08-24T16:00:00Z', by: PEOPLE.quality })),
};

const madeFor: Document = {
  ...{ kind: 'case', format: 1, case: CASE, family: COATED_FAMILY, neededBy: '2026-08-31', designIteration: 1 },
  ...{ anatomicalSite: 'mandible, angle', side: 'left' },
  prescriber: { name: 'nobody: plates for study DS-CP-1 (fictional)', institution: 'this cell (fictional)' },
  prescription: { reference: 'DS-CP-1-P', at: '2026-06-26T09:00:00Z' },
};

/** After they were aged from 15 July on. */
function measured(): string {
  const random = new Random(3000 + RUN);
  const row = (value: readonly string[], uncertainty: string, at: string, how: readonly string[]) => [
    ...[...value, uncertainty, '', `2026-08-24T${at}:00Z`, ...how, '1', '', '', ''],
  ];
  const strength = WORST_COUPONS.map((coupon) =>
    row([coupon, 'T1', 'rm', '1', random.around(228.5, 2.3).toFixed(1), 'MPa'], '', '09:00', [
      ...['RIG-1', PEOPLE.analyst, 'TM-RM'],
    ]),
  );
  const coating = WORST_PLATES.map((serial) =>
    row([serial, '', 'coat', '1', random.around(7.6, 0.6).toFixed(1), 'um'], '', '12:00', [
      ...['EC-1', PEOPLE.secondAnalyst, 'TM-COAT'],
    ]),
  );
  return writeCsv(RESULT_COLUMNS.all, [...strength, ...coating]);
}

export const worstCaseLot = (): LotFiles => ({
  documents: { [`lots/${WORST_LOT}/lot.yaml`]: lot, [`cases/${CASE}.yaml`]: madeFor },
  texts: { [`lots/${WORST_LOT}/results/aged.csv`]: measured() },
});
