import { Random } from '../base/random.js';
import { writeCsv } from '../dossier/csv.js';
import { RESULT_COLUMNS } from '../kinds/result.js';
import { type LogDesign, type LoggedZone, logText, openedAtMs } from './log.js';
import { type Document, FAMILY, MACHINE, PEOPLE, RECIPE, SPECIFICATION, STUDY } from './names.js';

/** What one lot of the scenario is like. */
export interface LotStory {
  readonly lot: string;
  readonly run: number;
  /** Day of the build. */
  readonly day: string;
  readonly powder: string;
  readonly gas: string;
  readonly implants: number;
  readonly neededBy: string;
  /** Time between rows, rows in each step of a layer, and oxygen that leaked in. */
  readonly log: Pick<LogDesign, 'periodMs' | 'rowsPerSegment' | 'leak'>;
  readonly balance: string;
  /** Strength of single coupons that differ from the rest, MPa. */
  readonly weak?: Readonly<Record<string, number>>;
  readonly gzip?: boolean;
}

export interface LotFiles {
  readonly documents: Record<string, Document>;
  readonly texts: Record<string, string>;
  /** Files that are no text. */
  readonly bytes?: Readonly<Record<string, Buffer>>;
}

const SIDES = ['left', 'right', 'midline'] as const;
const SITES = ['zygomatic arch', 'mandible, angle', 'orbital rim'] as const;
const DAY_MS = 86_400_000;
/** Where the random numbers of logged settings start, apart from those of results. */
const FIRST_OF_SETTINGS = 1000;

export const dayAfter = (day: string, days: number): string =>
  new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);

/** The scenario writes times in UTC. */
const at = (day: string, time: string): string => `${day}T${time}:00Z`;

export const serialOf = (story: LotStory, n: number): string => `BP-${story.run}-${n}`;
export const couponOf = (story: LotStory, n: number): string => `W${story.run}-${n}`;
const caseOf = (story: LotStory, n: number): string => `K-${story.run}-${n}`;

const FEWEST_COUPONS = 2;
const couponsOf = (story: LotStory): number => Math.max(FEWEST_COUPONS, story.implants);

/** Zones of so many implants and coupons, as a recorder names them. */
export function zonesOf(implants: number, coupons: number): LoggedZone[] {
  const zones: LoggedZone[] = [];
  for (let n = 1; n <= implants; n++) {
    for (const recipeZone of ['span', 'eyelet', 'skin'] as const) {
      zones.push({ logged: `P${n}-${recipeZone}`, recipeZone });
    }
  }
  for (let n = 1; n <= coupons; n++) zones.push({ logged: `C${n}-bar`, recipeZone: 'span' });
  return zones;
}

const layersOf = (recipeZone: LoggedZone['recipeZone']) =>
  recipeZone === 'skin' ? { from: 25, to: 30 } : { from: 1, to: 24 };

export const builtZones = (zones: readonly LoggedZone[], prefix: string) =>
  zones
    .filter(({ logged }) => logged.startsWith(`${prefix}-`))
    .map(({ logged, recipeZone }) => ({ zone: logged, recipeZone, layers: layersOf(recipeZone) }));

/** Everything of one lot: cases, lot document, log, and result sheets, which are there once it was tested. */
export function filesOf(story: LotStory): LotFiles {
  const zones = zonesOf(story.implants, couponsOf(story));
  const design: LogDesign = { ...story.log, closedAtMs: Date.parse(at(story.day, '06:30')), zones };
  const random = new Random(story.run);
  const folder = `lots/${story.lot}`;
  const documents: Record<string, Document> = { [`${folder}/lot.yaml`]: lotDocument(story, design, zones) };
  for (let n = 1; n <= story.implants; n++) documents[`cases/${caseOf(story, n)}.yaml`] = caseDocument(story, n);
  return {
    documents,
    texts: {
      [`${folder}/logs/run-${story.run}.csv`]: logText(design, random, new Random(FIRST_OF_SETTINGS + story.run)),
      [`${folder}/results/coupons.csv`]: couponResults(story, random),
      [`${folder}/results/implants.csv`]: implantResults(story, random),
    },
  };
}

function caseDocument(story: LotStory, n: number): Document {
  const place = (story.run + n) % 3;
  return {
    kind: 'case',
    format: 1,
    case: caseOf(story, n),
    family: FAMILY,
    neededBy: dayAfter(story.neededBy, n - 1),
    designIteration: 1 + ((story.run + n) % 2),
    anatomicalSite: SITES[place]!,
    side: place === 2 ? 'midline' : SIDES[(story.run + n) % 2]!,
    prescriber: { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' },
    prescription: { reference: `RX-${story.run}-${n}`, at: at(dayAfter(story.day, -12), '10:00') },
  };
}

function lotDocument(story: LotStory, design: LogDesign, zones: readonly LoggedZone[]): Document {
  const build = `${MACHINE}-${story.run}`;
  const implants = Array.from({ length: story.implants }, (_, index) => index + 1);
  const coupons = Array.from({ length: couponsOf(story) }, (_, index) => index + 1);
  const opened = openedAtMs(design);
  return {
    kind: 'lot',
    format: 1,
    lot: story.lot,
    family: FAMILY,
    specification: SPECIFICATION,
    opened: { by: PEOPLE.process, at: at(story.day, '05:45') },
    builds: [
      {
        build,
        machine: MACHINE,
        run: story.run,
        closedAt: at(story.day, '06:30'),
        openedAt: new Date(opened).toISOString(),
        operator: PEOPLE.operator,
        powder: [{ state: story.powder, chargedG: '240' }],
        gas: [{ receipt: story.gas }],
        log: {
          file: `logs/run-${story.run}.csv${story.gzip ? '.gz' : ''}`,
          channels: [
            { channel: 'oxygen', ucum: '[ppm]', instrument: 'OX-1' },
            { channel: 'moisture', ucum: '[ppm]', instrument: 'HYG-1' },
            { channel: 'laser_power', ucum: 'W' },
            { channel: 'chamber_pressure', ucum: 'mbar' },
            { channel: 'powder_flow', ucum: 'g/min' },
            { channel: 'needle_force', ucum: 'N' },
            { channel: 'spindle_speed', ucum: '/min' },
          ],
          nominalPeriodMs: story.log.periodMs,
          gapLimitMs: story.log.periodMs * 5,
        },
      },
    ],
    implants: implants.map((n) => ({
      serial: serialOf(story, n),
      case: caseOf(story, n),
      designIteration: 1 + ((story.run + n) % 2),
      build,
      recipe: RECIPE,
      zones: builtZones(zones, `P${n}`),
      ...placeOf(n),
    })),
    coupons: coupons.map((n) => ({
      coupon: couponOf(story, n),
      build,
      recipe: RECIPE,
      zones: builtZones(zones, `C${n}`),
      ...placeOf(n),
      study: STUDY,
      // Each implant has a coupon of its own; two stand for an implant that was built alone.
      standsFor: story.implants === couponsOf(story) ? [serialOf(story, n)] : implants.map((m) => serialOf(story, m)),
      rationale: 'coupon beside the implant, same zone class and layers (fictional)',
    })),
    steps: [
      { step: 'clean', at: at(dayAfterBuild(story), '05:30'), by: PEOPLE.operator },
      { step: 'dry', at: at(dayAfterBuild(story), '07:00'), by: PEOPLE.operator },
    ],
  };
}

const ROWS = ['left-row', 'middle-row', 'right-row'] as const;

/** Implants and their coupons lie side by side, in rows across the plate. */
export const placeOf = (n: number): Document => ({ position: ROWS[(n - 1) % ROWS.length]!, orientation: 'flat' });

/** The family drifts a little with the powder, as families do. */
const drift = (story: LotStory): number => (story.powder === 'PS-01' ? 0 : story.powder === 'PS-02' ? 1.2 : 0.6);

export const dayAfterBuild = (story: LotStory): string => dayAfter(story.day, 1);
export const testDay = (story: LotStory): string => dayAfter(story.day, 15);

/** Each coupon is measured whole for its stress, then cut into bars for the tensile test and discs for the immersion. */
function couponResults(story: LotStory, random: Random): string {
  const rows: string[][] = [];
  const day = testDay(story);
  const buildShift = random.around(0, 1.4);
  const row = (
    coupon: string,
    piece: string,
    name: string,
    value: string,
    ucum: string,
    time: string,
    how: string[],
    startedAt = '',
  ) => rows.push([coupon, piece, name, '1', value, ucum, '', startedAt, at(day, time), ...how, '', '', '']);
  // Fourteen days, from the morning on which the coupons were dry.
  const immersed = at(dayAfterBuild(story), '09:45');
  for (let n = 1; n <= couponsOf(story); n++) {
    const coupon = couponOf(story, n);
    for (const replicate of [1, 2]) {
      const weak = story.weak?.[coupon];
      const strength = weak === undefined ? random.around(231 + drift(story) + buildShift, 2.1) : weak + replicate;
      row(coupon, `T${replicate}`, 'rm', strength.toFixed(1), 'MPa', '08:30', ['RIG-1', PEOPLE.analyst, 'TM-RM', '1']);
    }
    for (const replicate of [1, 2]) {
      const rate = random.around(0.31 - drift(story) / 100, 0.022);
      const weighed = [story.balance, PEOPLE.analyst, 'TM-DEG', '1'];
      row(coupon, `D${replicate}`, 'rate', rate.toFixed(3), 'mm/a', '10:15', weighed, immersed);
    }
    const stress = random.around(-86, 7);
    row(coupon, '', 'stress', stress.toFixed(0), 'MPa', '07:40', ['XRD-1', PEOPLE.analyst, 'TM-RS', '1']);
  }
  return writeCsv(RESULT_COLUMNS.all, rows);
}

function implantResults(story: LotStory, random: Random): string {
  const rows: string[][] = [];
  const day = testDay(story);
  for (let n = 1; n <= story.implants; n++) {
    const serial = serialOf(story, n);
    const thickness = random.around(1.502, 0.009).toFixed(3);
    const porosity = random.around(0.19, 0.045);
    const sa = random.around(3.9, 0.35).toFixed(2);
    rows.push(
      [
        serial,
        '',
        'thickness',
        '1',
        thickness,
        'mm',
        '0.004',
        '',
        at(day, '14:10'),
        'MIC-3',
        PEOPLE.secondAnalyst,
        'TM-THK',
        '1',
        PEOPLE.secondAnalyst,
        PEOPLE.operator,
        '',
      ],
      [
        serial,
        '',
        'porosity',
        '1',
        porosity < 0.12 ? '<0.12' : porosity.toFixed(2),
        '%',
        '',
        '',
        at(day, '15:00'),
        'CT-1',
        PEOPLE.analyst,
        'TM-POR',
        '1',
        '',
        '',
        '',
      ],
      [
        ...[serial, '', 'sa', '1', sa, 'um', '', '', at(day, '15:40'), 'SURF-1', PEOPLE.secondAnalyst, 'TM-SA', '1'],
        ...['', '', ''],
      ],
    );
  }
  return writeCsv(RESULT_COLUMNS.all, rows);
}
