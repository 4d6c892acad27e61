import { couponOf, dayAfterBuild, filesOf, type LotFiles, type LotStory, testDay } from './lots.js';
import type { Document } from './names.js';
import { SITE_STEPS } from './site.js';

/** One moment of the scenario: files that appear, and the folder that is then taken in. */
export interface Act {
  readonly at: string;
  readonly title: string;
  readonly folder: string;
  files(): LotFiles & { readonly gzip?: boolean };
}

const QUIET = { periodMs: 15_000, rowsPerSegment: 4 };
const FIRST_RUN = 201;

/** A dozen earlier lots, a month apart. */
const EARLIER: readonly LotStory[] = [
  '2025-10-06',
  '2025-11-03',
  '2025-12-01',
  '2026-01-12',
  '2026-02-02',
  '2026-03-02',
  '2026-03-30',
  '2026-04-27',
  '2026-05-26',
  '2026-06-22',
  '2026-07-20',
  '2026-09-07',
].map((day, index) => ({
  lot: `L-${day.slice(0, 4)}-${String(index + 1).padStart(3, '0')}`,
  run: FIRST_RUN + index,
  day,
  powder: day < '2026-02-19' ? 'PS-01' : day < '2026-08-28' ? 'PS-02' : 'PS-03',
  gas: day < '2026-02-18' ? 'R-102' : 'R-118',
  implants: index % 4 === 0 ? 1 : 2,
  neededBy: new Date(Date.parse(day) + 40 * 86_400_000).toISOString().slice(0, 10),
  log: QUIET,
  balance: 'BAL-1',
}));

const TO_CLOSE: readonly LotStory[] = [
  {
    lot: 'L-2026-013',
    run: 213,
    day: '2026-10-28',
    powder: 'PS-03',
    gas: 'R-118',
    implants: 2,
    neededBy: '2026-11-27',
    log: { ...QUIET, leak: { zone: 'P1-skin', layer: 30, step: 'mill', oxygenPpm: 27 } },
    balance: 'BAL-1',
  },
  {
    lot: 'L-2026-014',
    run: 214,
    day: '2026-11-02',
    powder: 'PS-03',
    gas: 'R-118',
    implants: 3,
    neededBy: '2026-12-01',
    // Eleven hours, five rows a second: more than 200 000 rows.
    log: { periodMs: 200, rowsPerSegment: 690, leak: { zone: 'P2-span', layer: 12, step: 'peen', oxygenPpm: 134 } },
    balance: 'BAL-1',
    weak: { 'W214-2': 207.4 },
    gzip: true,
  },
  {
    lot: 'L-2026-015',
    run: 215,
    day: '2026-11-05',
    powder: 'PS-03',
    gas: 'R-118',
    implants: 2,
    neededBy: '2026-12-03',
    log: QUIET,
    // Its calibration had been due on 3 November.
    balance: 'BAL-2',
  },
];

export const LAST_DAY = '2026-11-24T16:00:00Z';
export const LOTS_TO_CLOSE = TO_CLOSE.map((story) => story.lot);
export const EARLIER_LOTS = EARLIER.map((story) => story.lot);
/** The earlier lot with a record; one of its values was corrected. */
export const EARLIER_LOT_WITH_RECORD = EARLIER_LOTS[7]!;

const evening = (day: string): string => `${day}T17:00:00Z`;

/** The lot as it was built, written down the morning after, when it was clean and dry; and its tests, on their evening. */
function lotActs(story: LotStory): Act[] {
  let made: ReturnType<Act['files']> | undefined;
  const whole = () => {
    made ??= { ...filesOf(story), ...(story.gzip ? { gzip: true } : {}) };
    return made;
  };
  const built = () => {
    const { texts, ...files } = whole();
    return {
      ...files,
      texts: Object.fromEntries(Object.entries(texts).filter(([name]) => !name.includes('/results/'))),
    };
  };
  return [
    { at: `${dayAfterBuild(story)}T08:00:00Z`, title: `lot ${story.lot} as built`, folder: story.lot, files: built },
    { at: evening(testDay(story)), title: `tests of lot ${story.lot}`, folder: story.lot, files: whole },
  ];
}

/** The mass after cleaning had been read from the wrong line, so that one rate was wrong. */
function correctionAct(story: LotStory): Act {
  const wrongCoupon = couponOf(story, 1);
  return {
    at: `${new Date(Date.parse(testDay(story)) + 86_400_000).toISOString().slice(0, 10)}T09:00:00Z`,
    title: `a corrected value in lot ${story.lot}`,
    folder: story.lot,
    files: () => {
      const { documents, texts } = filesOf(story);
      const sheet = `lots/${story.lot}/results/coupons.csv`;
      return { documents, texts: { ...texts, [sheet]: correct(texts[sheet]!, wrongCoupon) } };
    },
  };
}

function correct(sheet: string, coupon: string): string {
  const lines = sheet.split('\n');
  const index = lines.findIndex((line) => line.startsWith(`${coupon},D1,rate,1,`));
  const fields = lines[index]!.split(',');
  fields[4] = (Number(fields[4]) + 0.009).toFixed(3);
  fields[fields.length - 1] = 'mass after cleaning was read from the wrong line of the weighing sheet';
  lines[index] = fields.join(',');
  return lines.join('\n');
}

/** When each earlier lot was reviewed and released, in order of time: after its tests, and after what was corrected. */
export const CLOSINGS: readonly { readonly lot: string; readonly at: string }[] = EARLIER.map((story) => ({
  lot: story.lot,
  at: `${new Date(Date.parse(testDay(story)) + 2 * 86_400_000).toISOString().slice(0, 10)}T10:00:00Z`,
}));

/** The whole scenario in order of time. */
export function acts(): Act[] {
  const site = SITE_STEPS.map(
    ({ at, title, folder, documents }): Act => ({
      at,
      title,
      folder,
      files: () => ({ documents: documents as Record<string, Document>, texts: {} }),
    }),
  );
  const corrected = EARLIER.find((story) => story.lot === EARLIER_LOT_WITH_RECORD)!;
  return [...site, ...[...EARLIER, ...TO_CLOSE].flatMap(lotActs), correctionAct(corrected)].sort(
    (a, b) => Date.parse(a.at) - Date.parse(b.at),
  );
}
