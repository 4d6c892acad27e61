import type { Cell } from '../cell.js';

const EFFECTIVE = '2031-01-11T00:00:00+01:00';
const APPROVAL = { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' };

const SITE: Cell['documents'] = {
  'site/degradation/medium.yaml': {
    kind: 'test-medium',
    format: 1,
    medium: 'SBF',
    revision: 1,
    title: 'Buffered body fluid',
    components: [{ component: 'NaCl', amount: '8.0', ucum: 'g/L' }],
    buffer: 'CO2 and HCO3-',
    gas: '5 % CO2 in air',
    proteins: 'none',
    pH: { min: '7.35', max: '7.45' },
    effectiveFrom: EFFECTIVE,
    approval: APPROVAL,
  },
  'site/degradation/batch.yaml': {
    kind: 'consumable',
    format: 1,
    consumable: 'SBF-31-01',
    category: 'medium',
    material: 'salts',
    made: [{ receipt: 'R-1' }],
    by: 'P-AN',
    inUseFrom: '2031-01-15T08:00:00+01:00',
  },
  'site/degradation/method.yaml': {
    kind: 'method',
    format: 1,
    method: 'TM-D',
    revision: 1,
    title: 'Immersion, mass loss',
    duration: { hours: '336', within: '2' },
    mediumMlPerCm2: '20',
    destructive: 'non-destructive',
    operation: 'TM-T',
    effectiveFrom: EFFECTIVE,
    approval: APPROVAL,
  },
};

/** Weeks in the medium, and the mean depth that is lost by then, in µm: more slowly as time goes on. */
export const LOSSES = [
  ['A', 2, 20],
  ['B', 6, 46],
  ['C', 12, 78],
] as const;
/** The same with a second piece at the longer times, without which nobody knows how much specimens spread. */
export const LOSSES_WITH_REPLICATES = [...LOSSES, ['D', 6, 47], ['E', 12, 76.6]] as const;

const AREA_CM2 = 5.652;
const DENSITY = 1.84;

/** Pieces of two coupons, each for another time in one batch of one medium. */
export function addExposures(
  cell: Cell,
  losses: readonly (readonly [piece: string, weeks: number, depthUm: number])[] = LOSSES,
): void {
  const [lot, thinner] = ['L-1', [1, 1.02]];
  Object.assign(cell.documents, structuredClone(SITE));
  const study = cell.documents['site/study.yaml']!;
  if (!study.characteristics.includes('rate')) study.characteristics.push('rate');
  const { characteristics } = cell.documents['site/specification.yaml']!;
  if (!characteristics.some(({ characteristic }: { characteristic: string }) => characteristic === 'rate')) {
    characteristics.push({
      characteristic: 'rate',
      title: 'Degradation rate',
      ucum: 'mm/a',
      method: { method: 'TM-D', revision: 1 },
      measuredOn: 'coupon',
      zoneClass: 'load-bearing',
      replicates: 1,
      upper: '0.60',
      direction: 'lower-is-better',
      decision: { rule: 'simple' },
      rounding: { rule: 'absolute' },
      source: 'exposure',
      due: 'before-release',
      plan: 'every-unit',
    });
  }
  cell.sheets[`lots/${lot}/exposures/immersion.csv`] = thinner.flatMap((factor, index) =>
    losses.map(([piece, weeks, depthUm]) => {
      const lostG = factor * depthUm * 1e-4 * AREA_CM2 * DENSITY;
      return {
        specimen: `${lot}-W${index + 1}`,
        piece,
        exposure: '1',
        face: 'peened',
        zoneClass: 'load-bearing',
        'medium.medium': 'SBF',
        'medium.revision': '1',
        batch: 'SBF-31-01',
        'protocol.method': 'TM-D',
        'protocol.revision': '1',
        from: '2031-03-05T09:00:00+01:00',
        to: `${new Date(Date.parse('2031-03-05T08:00:00Z') + weeks * 604_800_000).toISOString().slice(0, 19)}Z`,
        temperatureC: '37.0',
        'pH.start': '7.40',
        'pH.most': '7.62',
        'pH.end': '7.55',
        volumeMl: '150',
        areaCm2: String(AREA_CM2),
        changeH: '48',
        'control.material': 'pure Mg',
        'control.value': '0.31',
        'control.ucum': 'mm/a',
        'control.min': '0.25',
        'control.max': '0.40',
        'massG.before': '1.92340',
        'massG.afterCleaning': (1.9234 - lostG).toFixed(5),
        densityGPerCm3: String(DENSITY),
        deepestUm: (1.5 * factor * depthUm).toFixed(1),
        'uncertainty.massG': '0.00002',
        'uncertainty.areaCm2': '0.02',
        'uncertainty.timeH': '0.1',
        'uncertainty.densityGPerCm3': '0.005',
        instruments: 'I-MIC',
        analyst: 'P-AN',
        enteredBy: 'P-OP',
        checkedBy: 'P-QE',
      };
    }),
  );
}
