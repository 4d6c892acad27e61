import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { type LogDesign, type LoggedZone, logText, openedAtMs } from '../log.js';
import { builtZones, type LotFiles, placeOf } from '../lots.js';
import { type Document, MACHINE, PEOPLE } from '../names.js';
import type { Move } from '../stories/acts.js';
import { casesOfWindows } from './window-cases.js';
import { exposureSheet } from './window-exposures.js';
import {
  BATCH,
  TIP,
  WINDOW_FAMILY,
  WINDOW_RECIPE,
  WINDOW_SITE,
  WINDOW_SPECIFICATION,
  WINDOW_STUDY,
} from './window-site.js';

/**
 * Three plates of one build, and one coupon for each class of zones. The first case heals fast, the second slowly: the same
 * coupon meets the window of the one and misses that of the other. Of the third a ring has to hold longer than anything lay in
 * the medium.
 */
export const WINDOW_LOT = 'P-2026-01';
const RUN = 501;
const BUILD = `${MACHINE}-${RUN}`;
const FOLDER = `lots/${WINDOW_LOT}`;
export const PLATES = [1, 2, 3].map((n) => `RP-${RUN}-${n}`);
export const COUPONS = { span: `RW${RUN}-1`, eyelet: `RW${RUN}-2` } as const;

const ZONES: readonly LoggedZone[] = [
  ...[1, 2, 3].flatMap((n) =>
    (['span', 'eyelet'] as const).map((recipeZone) => ({ logged: `P${n}-${recipeZone}`, recipeZone })),
  ),
  { logged: 'C1-bar', recipeZone: 'span' },
  { logged: 'C2-bar', recipeZone: 'eyelet' },
];
const log: LogDesign = {
  ...{ periodMs: 30_000, rowsPerSegment: 2, closedAtMs: Date.parse('2026-08-04T06:30:00Z'), zones: ZONES },
};

const lotDocument: Document = {
  ...{ kind: 'lot', format: 1, lot: WINDOW_LOT, family: WINDOW_FAMILY, specification: WINDOW_SPECIFICATION },
  opened: { by: PEOPLE.process, at: '2026-08-04T05:45:00Z' },
  builds: [
    {
      ...{ build: BUILD, machine: MACHINE, run: RUN, operator: PEOPLE.operator },
      ...{ closedAt: new Date(log.closedAtMs).toISOString(), openedAt: new Date(openedAtMs(log)).toISOString() },
      powder: [{ state: 'PS-02', chargedG: '240' }],
      gas: [{ receipt: 'R-118' }],
      consumables: [{ consumable: TIP, step: 'peen', uses: 8 }],
      log: {
        file: `logs/run-${RUN}.csv`,
        channels: [
          { channel: 'oxygen', ucum: '[ppm]', instrument: 'OX-1' },
          { channel: 'moisture', ucum: '[ppm]', instrument: 'HYG-1' },
          { channel: 'laser_power', ucum: 'W' },
          { channel: 'chamber_pressure', ucum: 'mbar' },
          { channel: 'powder_flow', ucum: 'g/min' },
          { channel: 'needle_force', ucum: 'N' },
          { channel: 'spindle_speed', ucum: '/min' },
        ],
        ...{ nominalPeriodMs: log.periodMs, gapLimitMs: 5 * log.periodMs },
      },
    },
  ],
  implants: PLATES.map((serial, index) => ({
    ...{ serial, case: `K-${RUN}-${index + 1}`, designIteration: 1, build: BUILD, recipe: WINDOW_RECIPE },
    ...{ zones: builtZones(ZONES, `P${index + 1}`), ...placeOf(index + 1) },
  })),
  coupons: Object.values(COUPONS).map((coupon, index) => ({
    ...{ coupon, build: BUILD, recipe: WINDOW_RECIPE, zones: builtZones(ZONES, `C${index + 1}`), study: WINDOW_STUDY },
    ...{ standsFor: PLATES, rationale: 'coupon beside the plates, same zone class and layers (fictional)' },
    ...placeOf(index + 1),
  })),
  steps: [
    { step: 'clean', at: '2026-08-05T05:30:00Z', by: PEOPLE.operator },
    { step: 'dry', at: '2026-08-05T07:00:00Z', by: PEOPLE.operator },
  ],
};

/** Strength of two pieces of each coupon, and iron on the peened one. */
function measured(): string {
  const random = new Random(3000 + RUN);
  const row = (value: readonly string[], at: string, how: readonly string[]) => [
    ...[...value, '', '', `2026-08-06T${at}:00Z`, ...how, '1', '', '', ''],
  ];
  const strength = (coupon: string, name: string, mean: number) =>
    ['T1', 'T2'].map((piece) => {
      const found = random.around(mean, 2).toFixed(1);
      return row([coupon, piece, name, '1', found, 'MPa'], '08:30', ['RIG-1', PEOPLE.analyst, 'TM-RM']);
    });
  return writeCsv(RESULT_COLUMNS.all, [
    ...strength(COUPONS.span, 'rm', 232),
    ...strength(COUPONS.eyelet, 'rm-ring', 221),
    row([COUPONS.span, 'A1', 'sfe', '1', '0.0048', '%'], '07:40', ['XRF-1', PEOPLE.analyst, 'TM-XRF']),
  ]);
}

const plannedWindows = (): LotFiles => ({ documents: { ...WINDOW_SITE, ...casesOfWindows(RUN) }, texts: {} });

const builtWindows = (): LotFiles => ({
  documents: {
    [`${FOLDER}/lot.yaml`]: lotDocument,
    [`consumables/${BATCH}.yaml`]: {
      ...{ kind: 'consumable', format: 1, consumable: BATCH, category: 'medium', material: 'salts' },
      made: [{ receipt: 'R-152', quantity: { value: '0.4', ucum: 'kg' } }],
      ...{ by: PEOPLE.analyst, inUseFrom: '2026-08-06T07:00:00Z' },
    },
  },
  texts: {
    [`${FOLDER}/logs/run-${RUN}.csv`]: logText(log, new Random(RUN), new Random(2000 + RUN)),
    [`${FOLDER}/results/measured.csv`]: measured(),
  },
});

/** What the pieces lost, once the last of them had been taken out. */
const exposedWindows = (): LotFiles => ({
  documents: { [`${FOLDER}/lot.yaml`]: lotDocument },
  texts: {
    [`${FOLDER}/results/measured.csv`]: measured(),
    [`${FOLDER}/logs/run-${RUN}.csv`]: logText(log, new Random(RUN), new Random(2000 + RUN)),
    [`${FOLDER}/${EXPOSURE_SHEET}`]: exposureSheet(COUPONS),
  },
});

export const EXPOSURE_SHEET = 'exposures/immersion.csv';

/** From the cases to plates of which the windows decide. */
export const WINDOW_MOVES: readonly Move[] = [
  {
    ...{
      at: '2026-07-30T12:00:00Z',
      does: 'bring in',
      title: 'cases for radius plates, with the windows of their zones',
    },
    ...{ folder: 'radius', files: plannedWindows },
  },
  {
    ...{
      at: '2026-08-06T12:00:00Z',
      does: 'bring in',
      title: 'radius plates as built, and their coupons in the medium',
    },
    ...{ folder: 'radius', files: builtWindows },
  },
  {
    ...{ at: '2026-10-29T17:00:00Z', does: 'bring in', title: 'what the coupons of the radius plates lost' },
    ...{ folder: 'radius', files: exposedWindows },
  },
  { at: '2026-10-29T17:30:00Z', does: 'assess', lot: WINDOW_LOT },
];
