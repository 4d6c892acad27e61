import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { PEOPLE } from '../names.js';
import { BATCH, IMMERSION, MEDIUM, WEEKS } from './window-site.js';

/** One coupon of each class of zones, cut into pieces: how deep it goes, and how much deeper its pits. */
const CLASSES = {
  span: { zoneClass: 'load-bearing', twelveWeeksUm: 54, pits: 1.6 },
  eyelet: { zoneClass: 'screw-hole', twelveWeeksUm: 92, pits: 1.8 },
} as const;

const PIECES_EACH = 2;
/** Loss slows down as a layer grows: a power of time. */
const POWER = 0.78;
const [AREA_CM2, DENSITY, BEFORE_G] = [2.4, 1.8, 0.8124];
const FROM_MS = Date.parse('2026-08-06T09:00:00Z');
const WEEK_MS = 604_800_000;

/** Every piece with its exposure, weighed and looked at in section. */
export function exposureSheet(coupons: Readonly<Record<keyof typeof CLASSES, string>>): string {
  const random = new Random(37);
  const rows = Object.entries(CLASSES).flatMap(([zone, { zoneClass, twelveWeeksUm, pits }]) =>
    WEEKS.flatMap((weeks, step) =>
      Array.from({ length: PIECES_EACH }, (_, n) => {
        const depthUm = twelveWeeksUm * (weeks / 12) ** POWER * random.around(1, 0.025);
        return {
          ...{ specimen: coupons[zone as keyof typeof CLASSES], piece: `D${PIECES_EACH * step + n + 1}`, zoneClass },
          to: new Date(FROM_MS + weeks * WEEK_MS).toISOString(),
          'pH.most': random.around(7.58, 0.03).toFixed(2),
          'massG.afterCleaning': (BEFORE_G - BLANK_G - depthUm * 1e-4 * AREA_CM2 * DENSITY).toFixed(5),
          deepestUm: (depthUm * pits * random.around(1, 0.04)).toFixed(0),
          ...COMMON,
        };
      }),
    ),
  );
  const columns = Object.keys(rows[0]!);
  return writeCsv(
    columns,
    rows.map((row) => Object.values(row)),
  );
}

const BLANK_G = 0.00006;

const COMMON = {
  ...{ exposure: '1', face: 'peened', 'medium.medium': MEDIUM.medium, 'medium.revision': String(MEDIUM.revision) },
  ...{ batch: BATCH, 'protocol.method': IMMERSION.method, 'protocol.revision': String(IMMERSION.revision) },
  ...{ from: new Date(FROM_MS).toISOString(), temperatureC: '37.0', 'pH.start': '7.40', 'pH.end': '7.52' },
  ...{ volumeMl: '72', areaCm2: String(AREA_CM2), changeH: '48' },
  ...{ 'control.material': 'pure magnesium (fictional)', 'control.value': '0.41', 'control.ucum': 'mm/a' },
  ...{ 'control.min': '0.30', 'control.max': '0.55', 'massG.before': BEFORE_G.toFixed(5) },
  ...{ 'massG.blankLoss': BLANK_G.toFixed(5), densityGPerCm3: String(DENSITY) },
  ...{ 'uncertainty.massG': '0.00002', 'uncertainty.areaCm2': '0.02', 'uncertainty.timeH': '0.5' },
  ...{ 'uncertainty.densityGPerCm3': '0.005', instruments: 'BAL-1 CT-1', analyst: PEOPLE.analyst },
  ...{ enteredBy: PEOPLE.analyst, checkedBy: PEOPLE.secondAnalyst },
} as const;
