import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { type LogDesign, logText, openedAtMs } from '../log.js';
import { builtZones, type LotFiles, placeOf, zonesOf } from '../lots.js';
import { type Document, PEOPLE } from '../names.js';
import { type CaseStory, caseOf } from './cases.js';
import {
  COATED_FAMILY,
  COATED_RECIPE,
  COATED_SPECIFICATION,
  COATED_STUDY,
  PATH_PROGRAM,
  PATH_VERSION,
  SECOND_MACHINE,
} from './names.js';

/** A lot of coated plates. */
export interface CoatedLot {
  readonly lot: string;
  readonly run: number;
  /** Day of the build. */
  readonly day: string;
  /** One implant each. */
  readonly cases: readonly CaseStory[];
  readonly coupons: number;
  /** Further coupons, tested only in place of another. */
  readonly spares: number;
  /** Values of single implants that differ from the rest, by serial. */
  readonly sa?: Readonly<Record<string, string>>;
  readonly thickness?: Readonly<Record<string, string>>;
  /** Strength of a piece that slipped in the grips, MPa. */
  readonly slipped?: Readonly<Record<string, string>>;
}

export const serialOf = ({ run }: Pick<CoatedLot, 'run'>, n: number): string => `CP-${run}-${n}`;
export const couponOf = ({ run }: Pick<CoatedLot, 'run'>, n: number): string => `X${run}-${n}`;
const upTo = (count: number): number[] => Array.from({ length: count }, (_, index) => index + 1);
export const serialsOf = (story: CoatedLot): string[] => upTo(story.cases.length).map((n) => serialOf(story, n));
export const couponsOf = (story: CoatedLot): string[] =>
  upTo(story.coupons + story.spares).map((n) => couponOf(story, n));

const FIRST_OF_SETTINGS = 2000;
const MORNING = '06:30';
const folderOf = ({ lot }: CoatedLot): string => `lots/${lot}`;

/** What the lot file says beyond how it was built. */
type Later = Partial<Readonly<Record<'invalidTests' | 'replacements' | 'fates' | 'labels', unknown>>>;

/** The lot as it was built, with what came after. */
export function coatedLot(story: CoatedLot, steps: readonly Document[], later: Later = {}): LotFiles {
  const zones = zonesOf(story.cases.length, story.coupons + story.spares);
  const closedAt = `${story.day}T${MORNING}:00Z`;
  const log: LogDesign = { periodMs: 15_000, rowsPerSegment: 4, closedAtMs: Date.parse(closedAt), zones };
  const build = `${SECOND_MACHINE}-${story.run}`;
  const serials = serialsOf(story);
  return {
    documents: {
      [`${folderOf(story)}/lot.yaml`]: {
        kind: 'lot',
        format: 1,
        lot: story.lot,
        family: COATED_FAMILY,
        specification: COATED_SPECIFICATION,
        opened: { by: PEOPLE.process, at: `${story.day}T05:45:00Z` },
        builds: [
          {
            build,
            machine: SECOND_MACHINE,
            run: story.run,
            closedAt,
            openedAt: new Date(openedAtMs(log)).toISOString(),
            operator: PEOPLE.operator,
            powder: [{ state: 'PS-11', chargedG: '240', depositedG: '31.4', recoveredG: '203.9', wasteG: '3.8' }],
            gas: [{ receipt: 'R-132' }],
            software: [{ software: PATH_PROGRAM.software, version: PATH_VERSION }],
            lineClearance: { by: PEOPLE.process, at: `${story.day}T06:10:00Z` },
            log: {
              file: `logs/run-${story.run}.csv`,
              channels: [
                { channel: 'oxygen', ucum: '[ppm]', instrument: 'OX-2' },
                { channel: 'moisture', ucum: '[ppm]', instrument: 'HYG-2' },
                { channel: 'laser_power', ucum: 'W' },
                { channel: 'chamber_pressure', ucum: 'mbar' },
                { channel: 'powder_flow', ucum: 'g/min' },
                { channel: 'needle_force', ucum: 'N' },
                { channel: 'spindle_speed', ucum: '/min' },
              ],
              nominalPeriodMs: 15_000,
              gapLimitMs: 75_000,
            },
          },
        ],
        implants: story.cases.map((one, index) => ({
          serial: serials[index]!,
          case: caseOf(one),
          designIteration: 1,
          build,
          recipe: COATED_RECIPE,
          zones: builtZones(zones, `P${index + 1}`),
          ...placeOf(index + 1),
        })),
        coupons: couponsOf(story).map((coupon, index) => ({
          coupon,
          build,
          recipe: COATED_RECIPE,
          zones: builtZones(zones, `C${index + 1}`),
          ...placeOf(index + 1),
          ...(index < story.coupons ? {} : { use: 'spare' }),
          study: COATED_STUDY,
          standsFor: serials,
          rationale: 'coupon beside the implants, same zone class and layers (fictional)',
        })),
        steps,
        ...later,
      },
    },
    texts: {
      [`${folderOf(story)}/logs/run-${story.run}.csv`]: logText(
        log,
        new Random(story.run),
        new Random(FIRST_OF_SETTINGS + story.run),
      ),
    },
  };
}

type How = readonly [instrument: string, analyst: string, method: string];
const RIG: How = ['RIG-1', PEOPLE.analyst, 'TM-RM'];
const MICROMETER: How = ['MIC-3', PEOPLE.secondAnalyst, 'TM-THK'];
const MICROSCOPE: How = ['SURF-1', PEOPLE.secondAnalyst, 'TM-SA'];
const GAUGE: How = ['EC-1', PEOPLE.secondAnalyst, 'TM-COAT'];

type Value = readonly [specimen: string, piece: string, name: string, replicate: string, value: string, ucum: string];

const row = (value: Value, uncertainty: string, at: string, how: How): string[] => [
  ...[...value, uncertainty, '', at, ...how, '1'],
  '',
  '',
  '',
];

/** Strength of two pieces of a coupon. */
const strengths = (story: CoatedLot, coupon: string, at: string, random: Random): string[][] =>
  ['T1', 'T2'].map((piece) => {
    const value = story.slipped?.[`${coupon}/${piece}`] ?? random.around(232, 2).toFixed(1);
    return row([coupon, piece, 'rm', '1', value, 'MPa'], '', at, RIG);
  });

/** What was measured of the planned coupons and of every implant on one day. */
export function testSheets(story: CoatedLot, day: string): Record<string, string> {
  const random = new Random(3000 + story.run);
  const planned = couponsOf(story).slice(0, story.coupons);
  const coupons = planned.flatMap((coupon) => strengths(story, coupon, `${day}T09:00:00Z`, random));
  const implants = serialsOf(story).flatMap((serial) => {
    const thickness = story.thickness?.[serial] ?? random.around(1.503, 0.006).toFixed(3);
    const sa = story.sa?.[serial] ?? random.around(3.7, 0.3).toFixed(2);
    const coat = random.around(8, 0.5).toFixed(1);
    return [
      row([serial, '', 'thickness', '1', thickness, 'mm'], '0.004', `${day}T10:00:00Z`, MICROMETER),
      row([serial, '', 'sa', '1', sa, 'um'], '', `${day}T11:00:00Z`, MICROSCOPE),
      row([serial, '', 'coat', '1', coat, 'um'], '', `${day}T12:00:00Z`, GAUGE),
    ];
  });
  return {
    [`${folderOf(story)}/results/coupons.csv`]: writeCsv(RESULT_COLUMNS.all, coupons),
    [`${folderOf(story)}/results/implants.csv`]: writeCsv(RESULT_COLUMNS.all, implants),
  };
}

/** A spare coupon tested in place of another, and what was measured again of an implant that was reworked. */
export function sheetOfRepeats(story: CoatedLot, day: string, spare: string, again: Value): Record<string, string> {
  const rows = [
    ...strengths(story, spare, `${day}T13:00:00Z`, new Random(4000 + story.run)),
    row(again, '', `${day}T14:00:00Z`, MICROSCOPE),
  ];
  return { [`${folderOf(story)}/results/repeats.csv`]: writeCsv(RESULT_COLUMNS.all, rows) };
}
