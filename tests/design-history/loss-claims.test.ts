import { type ComputedClaim, computedClaims } from '../../src/design-history/claims.js';
import type { CouponMade, ExposedLot } from '../../src/design-history/design-facts.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
import { digestOf } from '../../src/dossier/canonical.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import type { Exposure } from '../../src/kinds/degradation/exposure.js';
import { SIMULATION, type Simulation } from '../../src/kinds/degradation/simulation.js';
import { designStudy } from '../../src/kinds/design-history/design-study.js';
import { DESIGN_CLAIMS } from '../../src/report/phrases/design-claims.js';
import { type Draft, draftOf, factsOf, wholeHistory } from '../support/whole-history.js';

const DENSITY = 1.84;
const AREA_CM2 = 5.652;
const START = Date.parse('2031-03-05T08:00:00Z');

type Spoilt = Record<string, unknown>;

/** An exposure that lost so many µm in so many weeks, by weighing. */
function exposureOf(
  piece: string,
  weeks: number,
  depthUm: number,
  change: Spoilt = {},
): ExposedLot['exposures'][number] {
  const body = kindNamed('exposure')!.schema.parse({
    ...{ kind: 'exposure', format: 1, specimen: 'L-1-W1', specimenIs: 'coupon', piece, exposure: '1', face: 'peened' },
    ...{ zoneClass: 'load-bearing', medium: { medium: 'SBF', revision: 1 }, batch: 'SBF-31-01' },
    ...{ protocol: { method: 'TM-D', revision: 1 }, from: '2031-03-05T08:00:00Z' },
    to: new Date(START + weeks * 604_800_000).toISOString(),
    ...{ temperatureC: '37.0', pH: { start: '7.40' }, volumeMl: '150', areaCm2: String(AREA_CM2) },
    control: { material: 'pure Mg', value: '0.31', ucum: 'mm/a', min: '0.25', max: '0.40' },
    massG: { before: '9', afterCleaning: (9 - depthUm * 1e-4 * AREA_CM2 * DENSITY).toFixed(7) },
    ...{ densityGPerCm3: String(DENSITY), instruments: ['I-MIC'], analyst: 'P-AN' },
    uncertainty: { massG: '0.00001' },
    ...change,
  });
  return { key: `L-1-W1:${piece}:1`, revision: 1, digest: digestOf(body), body: body as never };
}

/** A steady loss of 0.5 mm in 365 days, as the worked table of docs/formulas.md has it, three specimens of each duration. */
const STEADY = [2, 12, 24].flatMap((weeks) =>
  ['A', 'B', 'C'].map((name, index) =>
    exposureOf(`${weeks}${name}`, weeks, (0.999 + index * 0.001) * ((500 * weeks * 7) / 365)),
  ),
);

const WINDOW = {
  zoneClass: 'load-bearing',
  section: { shape: 'plate', sizeMm: '2' },
  strengthLeft: '0.7',
  stiffnessLeft: '0.1',
  localisationFactor: '1',
};
const CRITERION = { characteristic: 'rate', claim: 'at least', value: '12', ucum: 'wk', by: 'loss against window' };

interface Given {
  readonly exposures?: readonly ExposedLot['exposures'][number][];
  readonly criterion?: Spoilt;
  readonly window?: Spoilt;
  readonly n?: number;
  readonly study?: Spoilt;
  /** What people did with the equivalence study. */
  readonly standing?: Partial<Draft>;
  readonly made?: Partial<CouponMade>;
  readonly simulation?: Simulation;
}

const MADE: CouponMade = {
  ...{ machine: 'M-1', closedAt: '2031-02-01T08:00:00Z', recipeGroup: 'g', position: null, orientation: null },
};

/** The window with what differs; what is undefined is left out. */
const held = (window: Spoilt): Spoilt =>
  Object.fromEntries(Object.entries({ ...WINDOW, ...window }).filter(([, value]) => value !== undefined));

function judged({
  exposures = STEADY,
  criterion = {},
  window = {},
  n = STEADY.length,
  study = {},
  standing = {},
  made = {},
  simulation = SIMULATION,
}: Given = {}) {
  const history = wholeHistory();
  const drawn = history.drafts.get('design-study')!.body;
  Object.assign(drawn, { n, criterion: { ...CRITERION, window: held(window), ...criterion } });
  history.drafts.set('equivalence-study', {
    ...draftOf({
      ...{ kind: 'equivalence-study', format: 1, study: 'EQ', revision: 1, title: 'coupons (invented)' },
      ...{ family: 'PLATE', machine: 'M-1', recipeGroups: ['g'], zoneClasses: ['load-bearing'] },
      ...{ characteristics: ['rm', 'rate'], conclusion: 'they speak (invented)', report: 'EQ-R' },
      ...{ validFrom: '2030-01-01T00:00:00Z', ...study },
    }),
    ...standing,
  });
  const named = { study: { study: 'EQ', revision: 1 }, made: { ...MADE, ...made } };
  const parts = [{ part: 'L-1-W1', build: 'B-1', ...named }];
  history.lots.set('L-1', { family: 'PLATE', values: [], exposed: { exposures, parts } });
  const facts = { ...factsOf(history), simulation };
  const [claim] = computedClaims(new DesignIndex(facts));
  return { claim: claim as ComputedClaim, rules: findGaps(facts).map(({ rule }) => rule) };
}

describe('a claim on a loss against a window', () => {
  // A plate of 2 mm at 0.5 mm in 365 days keeps after 24 weeks 59 % and 46 %: beam theory worked by hand.
  it('holds, with the numbers of beam theory', () => {
    const { claim, rules } = judged({ criterion: { value: '24' }, window: { strengthLeft: '0.55' } });
    expect(claim).toMatchObject({ answer: 'holds', why: null, method: 'loss against window', values: [] });
    const { strengthMean, stiffnessMean, strengthLower, strengthUpper, longestWeeks } = claim.numbers;
    expect(strengthMean).toBeCloseTo((1 - (2 * 0.5 * 24 * 7) / 365 / 2) ** 2, 3);
    expect(stiffnessMean).toBeCloseTo((1 - (2 * 0.5 * 24 * 7) / 365 / 2) ** 3, 3);
    expect([Math.round(100 * strengthMean!), Math.round(100 * stiffnessMean!)]).toEqual([59, 46]);
    expect(strengthLower! < strengthMean! && strengthMean! < strengthUpper!).toBe(true);
    expect(longestWeeks).toBeCloseTo(24, 9);
    expect(claim.losses).toHaveLength(9);
    expect(claim.losses[0]).toMatchObject({ lot: 'L-1', specimen: 'L-1-W1', build: 'B-1' });
    expect(rules).toEqual([]);
  });

  it('counts the weeks beyond it: 17 whole ones keep 0.7 of the strength', () => {
    // (1 − w · 0.0095890)² ≥ 0.7 up to w = 17.03 weeks.
    expect(judged().claim.numbers.marginWeeks).toBeGreaterThanOrEqual(4);
    expect(judged().claim.numbers.marginWeeks).toBeLessThanOrEqual(5);
  });

  it('does not hold where what is left falls below a limit, or it is not gone in time', () => {
    for (const window of [{ strengthLeft: '0.9' }, { stiffnessLeft: '0.75' }, { goneByWeeks: 20 }]) {
      const { claim, rules } = judged({ window });
      expect(claim.answer).toBe('does not hold');
      expect(rules).toEqual(['claim-not-held']);
    }
  });

  it('is gone in time', () => {
    const exposures = [4, 20, 30].flatMap((weeks) =>
      ['A', 'B'].map((name, index) =>
        exposureOf(`${weeks}${name}`, weeks, (0.999 + index * 0.002) * ((1000 * weeks * 7) / 365)),
      ),
    );
    const window = { section: { shape: 'plate', sizeMm: '1' }, goneByWeeks: 30 };
    const { claim } = judged({ exposures, n: 6, criterion: { value: '4' }, window });
    expect(claim.answer).toBe('holds');
    expect(claim.numbers.goneLowerUm).toBeGreaterThan(500);
  });

  const spoilt = (change: Spoilt) => [exposureOf('2A', 2, 19, change), ...STEADY.slice(1)];
  it.each([
    ['another number of values', { n: 10 }],
    ['coupons that no study compared', { study: { zoneClasses: ['hole'] } }],
    ['coupons that no study compared', { study: { characteristics: ['rm'] } }],
    ['coupons that no study compared', { standing: { approvedBy: null, approvedAt: null } }],
    ['coupons that no study compared', { standing: { withdrawn: true } }],
    // It begins after, or ended before the chamber was closed.
    ['coupons that no study compared', { study: { validFrom: '2031-02-01T08:00:01Z' } }],
    ['coupons that no study compared', { study: { validUntil: '2031-02-01T07:59:59Z' } }],
    ['coupons that no study compared', { made: { closedAt: null } }],
    ['coupons that no study compared', { study: { family: 'SCREW' } }],
    ['coupons that no study compared', { study: { machine: 'M-2' } }],
    ['coupons that no study compared', { study: { recipeGroups: ['h'] } }],
    ['coupons that no study compared', { made: { recipeGroup: null } }],
    ['coupons that no study compared', { study: { positions: ['P1'] } }],
    ['coupons that no study compared', { study: { orientations: ['upright'] }, made: { orientation: 'flat' } }],
    [
      'control outside its range',
      { exposures: spoilt({ control: { material: 'Mg', value: '0.5', ucum: 'mm/a', min: '0.2', max: '0.4' } }) },
    ],
    ['exposures that do not stand together', { exposures: spoilt({ face: 'milled' }) }],
    ['exposures that do not stand together', { exposures: spoilt({ temperatureC: '25' }) }],
    ['no uncertainty of the loss', { exposures: spoilt({ uncertainty: {} }) }],
    ['nobody measured the deepest attack', { window: { localisationFactor: undefined } }],
    ['loss not known well enough', { criterion: { value: '30' }, window: { strengthLeft: '0.1' } }],
    // 17.03 weeks to the limit: the interval of what is left lies on both sides of it at 17.
    ['loss not known well enough', { criterion: { value: '17' } }],
  ] satisfies [string, Given][])('cannot be decided: %s', (why, given) => {
    const { claim, rules } = judged(given);
    expect(claim).toMatchObject({ answer: 'cannot be decided', why });
    expect(rules).toEqual(['claim-undecided']);
    expect(DESIGN_CLAIMS.says(claim)).toContain(why);
  });

  it('is not measured where nothing of its class was exposed', () => {
    const { claim, rules } = judged({ window: { zoneClass: 'hole' } });
    expect(claim).toMatchObject({ answer: 'cannot be decided', why: 'no exposures' });
    expect(rules).toEqual(['criterion-not-measured']);
  });

  it('takes an implant that was given up as speaking for itself, and its smallest section as it was measured', () => {
    const of = (change: Spoilt) =>
      STEADY.map(({ body, ...one }) => ({ ...one, body: { ...body, specimenIs: 'implant' as const, ...change } }));
    const study = { zoneClasses: ['hole'] };
    expect(judged({ study, exposures: of({}) }).claim.answer).toBe('holds');
    // A plate of 2 mm with 1.6 mm left in one place keeps 0.64 of its strength, below 0.7.
    expect(judged({ study, exposures: of({ minimumSectionMm: '1.6' }) }).claim.answer).toBe('does not hold');
  });

  it('takes a section that was measured on an implant of which no loss is known', () => {
    const { massG: _, uncertainty: __, ...told } = STEADY[0]!.body;
    const measured = (minimumSectionMm: string) => {
      const body: Exposure = { ...told, piece: 'I9', specimenIs: 'implant', minimumSectionMm };
      const implant = { key: 'L-1-W1:I9:1', revision: 1, digest: digestOf(body), body };
      return judged({ exposures: [...STEADY, implant] }).claim;
    };
    expect(measured('1.99')).toMatchObject({ answer: 'holds', numbers: { n: STEADY.length } });
    // 0.8² = 0.64 of the strength is left, below 0.7.
    expect(measured('1.6').answer).toBe('does not hold');
  });

  it('is drawn from the seed that its facts carry', () => {
    const exposures = STEADY.map(({ body, ...one }, index) => {
      const deepestUm = String((1.1 + 0.1 * (index % 3)) * 9.6 * [2, 12, 24][Math.floor(index / 3)]!);
      return {
        ...one,
        body: { ...body, deepestUm, uncertainty: { ...body.uncertainty, areaCm2: String(Number(body.areaCm2) / 7) } },
      };
    });
    const of = (simulation: Simulation) => judged({ exposures, simulation }).claim.numbers;
    const other = of({ ...SIMULATION, seed: [1, 2, 3, 4] });
    expect(of(SIMULATION)).toEqual(of({ ...SIMULATION }));
    // What is known worse counts less in the fit, so the curve itself moves by what is drawn of it.
    expect(other.strengthMean).toBeCloseTo(of(SIMULATION).strengthMean!, 6);
    expect(other.strengthLower).not.toBe(of(SIMULATION).strengthLower);
  });

  it('counts a study that covers where and how its coupons lay', () => {
    const study = { positions: ['P1'], orientations: ['flat'] };
    expect(judged({ study, made: { position: 'P1', orientation: 'flat' } }).claim.answer).toBe('holds');
  });

  it('never holds for want of an exposure, and comes to the same in any order', () => {
    for (let without = 0; without < STEADY.length; without++) {
      const exposures = STEADY.filter((_, index) => index !== without);
      expect(judged({ exposures }).claim.answer).not.toBe('holds');
    }
    const turned = judged({ exposures: [...STEADY].reverse() }).claim;
    expect(turned.answer).toBe('holds');
    expect(turned.numbers.strengthLower).toBeCloseTo(judged().claim.numbers.strengthLower!, 9);
  });
});

it.each([
  ['criterion.window', { window: undefined }],
  ['criterion.claim', { claim: 'at most' }],
  ['criterion.ucum', { ucum: 'd' }],
  ['criterion.value', { value: '12.5' }],
  ['criterion.value', { value: '600' }],
  ['criterion.reliability', { reliability: '0.9', confidence: '0.9' }],
  ['criterion.confidence', { confidence: '0.4' }],
  ['criterion.window.goneByWeeks', { window: { ...WINDOW, goneByWeeks: 12 } }],
  ['criterion.window', { by: 'each value' }],
  [
    'criterion.window.section.rows[0].depthUm',
    {
      window: {
        ...WINDOW,
        section: {
          shape: 'table',
          rows: ['10', '20'].map((depthUm) => ({
            depthUm,
            areaMm2: '1',
            sectionModulusMm3: '1',
            secondMomentMm4: '1',
          })),
        },
      },
    },
  ],
])('a criterion that contradicts itself is told by its field: %s', (field, change) => {
  const given = structuredClone(wholeHistory().drafts.get('design-study')!.body);
  given.criterion = { ...CRITERION, window: WINDOW, ...change };
  if (given.criterion.window === undefined) delete given.criterion.window;
  const found = designStudy.contradictions!(designStudy.schema.parse(given));
  expect(found.map((one) => one.field)).toEqual([field]);
});
