import { chartInTestOrder, familyStudy } from '../../../src/assessment/family/study.js';
import type { StudyRow } from '../../../src/assessment/family/study-input.js';
import type { Made } from '../../../src/dossier/beside-values.js';
import { studyRows, studyTables } from '../../../src/report/study-rows.js';
import { normalNumbers } from '../../support/numbers.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

const normal = normalNumbers(7);
/** Thirty builds of two, one of which after another may be moved. */
const quiet = Array.from({ length: 30 }, () => [0, 1].map(() => Math.round(10 * (231 + 1.2 * normal())) / 10));
const PLAN = { subgroup: 'build', runRules: ['nineOneSide', 'movingRange'] };
const MADE: Made = {
  powder: [{ heat: 'H1', supplier: 'SILVER', share: 1 }],
  ...{
    operator: 'P-OP',
    analysts: ['P-AN'],
    maintained: '2030-12-01T08:00:00Z',
    worn: [],
    batches: [],
    measured: null,
  },
  calibrated: [{ instrument: 'RIG', at: '2030-11-01T08:00:00Z' }],
};
const withMade = (rows: readonly StudyRow[], of: (index: number) => Partial<Made>): StudyRow[] =>
  rows.map((row, index) => ({ ...row, beside: { ...row.beside, made: { ...MADE, ...of(index) } } }));
const words = (...[rows, given]: Parameters<typeof studyInput>) => {
  const input = studyInput(rows, given);
  return new Map(studyRows(input, familyStudy(input)));
};

describe('what changed on the way', () => {
  const changed = (of: (index: number) => Partial<Made>, context = (_: number): Partial<StudyRow['context']> => ({})) =>
    familyStudy(
      studyInput(withMade(buildsOf(quiet.slice(0, 4), context), of), { plan: PLAN, baseline: 4 }),
    ).chart.changes.map(({ before, what, from, to }) => [before, what, from, to]);

  it.each<[string, (index: number) => Partial<Made>, unknown[]]>([
    [
      'another heat of another supplier',
      (index) => (index < 2 ? {} : { powder: [{ heat: 'H2', supplier: 'GOLD', share: 1 }] }),
      [
        [2, 'heat', 'H1', 'H2'],
        [2, 'supplier', 'SILVER', 'GOLD'],
      ],
    ],
    [
      'other shares of the same heats',
      (index) => ({
        powder: [
          { heat: 'H1', supplier: 'SILVER', share: index < 3 ? 0.48 : 0.6 },
          { heat: 'H2', supplier: 'SILVER', share: index < 3 ? 0.52 : 0.4 },
        ],
      }),
      [[3, 'blend share', 'H1 48 %, H2 52 %', 'H1 60 %, H2 40 %']],
    ],
    ['an operator', (index) => (index < 1 ? {} : { operator: 'P-2' }), [[1, 'operator', 'P-OP', 'P-2']]],
    [
      'maintenance',
      (index) => (index < 2 ? {} : { maintained: '2031-02-02T18:00:00Z' }),
      [[2, 'maintenance', '2030-12-01', '2031-02-02']],
    ],
    [
      'a calibration',
      (index) => (index < 2 ? {} : { calibrated: [{ instrument: 'RIG', at: '2031-02-02T18:00:00Z' }] }),
      [[2, 'calibration', 'RIG, 2030-11-01', 'RIG, 2031-02-02']],
    ],
    [
      'another instrument',
      (index) => (index < 2 ? {} : { calibrated: [{ instrument: 'RIG-2', at: null }] }),
      [[2, 'instrument', 'RIG', 'RIG-2']],
    ],
    [
      'tip, tool, filter and media by their numbers, not by their use, which is told of the one before',
      (index) => ({
        worn: [
          { consumable: index < 2 ? 'TIP-1' : 'TIP-2', category: 'tip', uses: 10 * index, hours: 40 * index },
          { consumable: 'F-1', category: 'filter', uses: index, hours: 90 * index },
        ],
      }),
      [[2, 'tip', 'TIP-1', 'TIP-2']],
    ],
    [
      'a batch of medium',
      (index) => ({ batches: [index < 1 ? 'MB-1' : 'MB-2'] }),
      [[1, 'medium batch', 'MB-1', 'MB-2']],
    ],
  ])('tells of %s', (_, of, expected) => {
    expect(changed(of)).toEqual(expected);
  });

  it('compares what belongs to a machine with its own build before, so that machines that take turns change nothing', () => {
    const onTwo = (index: number) => ({ machine: index % 2 ? 'M2' : 'M1' });
    const found = changed((index) => ({ operator: index % 2 ? 'P-2' : 'P-OP' }), onTwo);
    expect(found).toEqual([]);
    const plan = { ...PLAN, pools: { ...studyInput([], { baseline: 0 }).plan.pools, machines: ['M1', 'M2'] } };
    const rows = withMade(buildsOf(quiet.slice(0, 4), onTwo), (index) => ({ operator: index % 2 ? 'P-2' : 'P-OP' }));
    const { changes } = familyStudy(studyInput(rows, { plan, baseline: 4 })).chart;
    expect(changes.map(({ what }) => what)).toEqual(['machine', 'machine', 'machine']);
    // Told once, when the second one came.
    const told = studyTables(familyStudy(studyInput(rows, { plan, baseline: 4 }))).changes;
    expect(told).toEqual([{ lot: 'L-2', says: 'machine M1 to M2', what: 'machine', to: 'M2' }]);
  });

  it('tells of what wore out how much it had been used when it went', () => {
    const made = (index: number): Partial<Made> => ({
      worn: [{ consumable: index < 2 ? 'TIP-1' : 'TIP-2', category: 'tip', uses: 10 * index, hours: 40.4 * index }],
    });
    const rows = withMade(buildsOf(quiet.slice(0, 4)), made);
    const study = familyStudy(studyInput(rows, { baseline: 4 }));
    expect(study.chart.changes.map(({ used }) => used)).toEqual([[{ code: 'TIP-1', uses: 10, hours: 40.4 }]]);
    expect(studyTables(study).changes.map(({ says }) => says)).toEqual(['tip TIP-1 (10 uses, 40 h) to TIP-2']);
  });
});

describe('changes beside signals', () => {
  /** Six more from the 22nd build on, together with the blend; another operator came at the tenth, and moved nothing. */
  const stepped = quiet.map((values, index) => values.map((value) => (index < 21 ? value : value + 6)));
  const of = (index: number): Partial<Made> => ({
    operator: index < 9 ? 'P-OP' : 'P-2',
    powder: [{ heat: index < 21 ? 'H1' : 'H2', supplier: 'SILVER', share: 1 }],
  });

  it('rank the planted one first, with its probability multiplied by all comparisons', () => {
    const input = studyInput(withMade(buildsOf(stepped), of), { plan: PLAN, baseline: 20 });
    const study = familyStudy(input);
    expect(study.chart.signals.some(({ lots }) => lots.includes('L-22'))).toBe(true);
    const { compared, ranked } = study.coincidences;
    expect(compared).toBe(4);
    expect(ranked[0]).toMatchObject({ what: 'heat', before: 21, from: 'H1', to: 'H2', by: 'mean' });
    expect(ranked[0]!.corrected).toBeCloseTo(Math.min(1, 4 * ranked[0]!.p), 9);
    expect(ranked[0]!.corrected).toBeLessThan(0.01);
    expect(ranked.map(({ what }) => what)).not.toContain('operator');
    expect(
      words(withMade(buildsOf(stepped), of), { plan: PLAN, baseline: 20 }).get('What changed beside signals'),
    ).toBe(
      '1 changes lie near a signal, and stand below in order. Mean and spread before and after each change were compared, 4 comparisons in all, so each probability is multiplied by 4. A hint where to look, and no cause: what changed together cannot be told apart',
    );
    expect(studyTables(study).coincidences[0]).toMatchObject({ lot: 'L-22', change: 'heat H1 to H2' });
  });

  it('are not ranked of fewer than 25 lots, and of no quiet chart', () => {
    const few = withMade(buildsOf(stepped.slice(0, 24)), of);
    expect(familyStudy(studyInput(few, { plan: PLAN, baseline: 20 })).coincidences.ranked).toEqual([]);
    expect(words(few, { plan: PLAN, baseline: 20 }).get('What changed beside signals')).toMatch(/^not ranked: 24 lots/);
    const calm = familyStudy(studyInput(withMade(buildsOf(quiet), of), { plan: PLAN, baseline: 20 }));
    expect(calm.coincidences).toMatchObject({ compared: 0, ranked: [] });
  });

  it('find a gauge that grew worse by its spread', () => {
    const wide = quiet.map((values, index) => {
      const away = index < 20 ? 0 : index % 2 ? 7 : -7;
      return values.map((value) => value + away);
    });
    const rows = withMade(buildsOf(wide), (index) => ({
      calibrated: [{ instrument: 'RIG', at: index < 20 ? '2030-11-01T08:00:00Z' : '2031-02-20T18:00:00Z' }],
    }));
    const { ranked } = familyStudy(studyInput(rows, { plan: PLAN, baseline: 20 })).coincidences;
    expect(ranked[0]).toMatchObject({ what: 'calibration', by: 'spread' });
  });
});

it('draws apart what is no first-pass value, and puts it into no number', () => {
  const rows = buildsOf(quiet.slice(0, 24));
  const plain = familyStudy(studyInput(rows, { plan: PLAN, baseline: 22 }));
  const apart = (['repeat', 'replacement', 'reworked'] as const).map((why, index) => ({
    ...{ specimen: `S-3-${index}`, piece: '', replicate: 1, value: '250', why },
  }));
  const beside = rows.map((row, index) => (index === 2 ? { ...row, beside: { apart } } : row));
  const study = familyStudy(studyInput(beside, { plan: PLAN, baseline: 22 }));
  expect(study.chart.apart.map(({ beside: place, why }) => [place, why])).toEqual(apart.map(({ why }) => [2, why]));
  expect(study.listed[2]).toMatchObject({ values: 2, again: 3 });
  expect({ ...study, chart: { ...study.chart, apart: [] }, listed: [] }).toEqual({ ...plain, listed: [] });
});

it('tells the index with and without what people decided not to conform, and who decided', () => {
  const rows = buildsOf(quiet.slice(0, 24)).map((row, index) =>
    index === 4
      ? {
          ...row,
          values: row.values.map((one) => ({ ...one, value: one.value - 9 })),
          beside: {
            nonconforming: row.values.map(({ specimen }) => ({
              ...{ specimen, nonconformity: 'NC-1', as: 'scrap', decidedBy: ['P-PE', 'P-QE'] },
            })),
          },
        }
      : row,
  );
  const input = studyInput(rows, { plan: PLAN, baseline: 22 });
  const { nonconforming, index } = familyStudy(input);
  expect(nonconforming!.without.n).toBe(index.n - 2);
  expect(nonconforming!.without.ppk).toBeGreaterThan(index.ppk ?? 0);
  const says = words(rows, { plan: PLAN, baseline: 22 }).get('With and without what does not conform');
  expect(says).toContain('S-5-1 of lot L-5 (scrap, NC-1, decided by P-PE and P-QE)');
  expect(says).toMatch(/The first counts\.$/);
});

describe('several types of part', () => {
  /** Plates of 1.5 and of 2 mm, with limits of the same width. */
  const judged = (index: number) => {
    const nominal = index % 2 ? 2 : 1.5;
    return {
      ...{ specification: index % 2 ? 'SP-20' : 'SP-15', revision: 1, target: String(nominal) },
      ...{ lower: String(nominal - 0.05), upper: String(nominal + 0.05) },
    };
  };
  const rows = quiet.map((values, index) => values.map((value) => Number(judged(index).target) + (value - 231) / 200));
  const typed = buildsOf(rows).map((row, index) => ({ ...row, beside: { judged: judged(index) } }));
  const item = { lower: '1.45', upper: '1.55', target: '1.5', direction: 'nominal-is-best' };
  const study = (standardise: string, own: readonly StudyRow[] = typed) => {
    const given = studyInput(own, { plan: { ...PLAN, standardise }, item, baseline: 22 });
    const baseline = given.baseline.map((one) => {
      const { specification, target } = own.find(({ lot }) => lot === one.lot)!.beside.judged!;
      return { ...one, type: specification, ...(target === null ? {} : { nominal: target }) };
    });
    return familyStudy({ ...given, baseline });
  };

  it('do not belong together as they are', () => {
    expect(study('no').trials.find(({ factor }) => factor === 'type')).toMatchObject({ verdict: 'fails' });
  });

  it('are one as deviations from the nominal value of each lot, with one index', () => {
    const { chart, index, trials } = study('deviation from nominal');
    expect(chart.scale).toBe('deviation from nominal');
    expect(chart.specified).toEqual({ lower: -0.05, upper: 0.05, target: 0 });
    expect(Math.abs(chart.limits!.centre)).toBeLessThan(0.01);
    expect(trials.find(({ factor }) => factor === 'type')).toMatchObject({ verdict: 'nothing against it' });
    expect(index.n).toBe(60);
    expect(index.ppk).toBeGreaterThan(1);
  });

  it('stand on one chart where each is held against its own spread, and have no limits in common', () => {
    const { chart, index, split } = study('by type');
    expect(chart.scale).toBe('standardised');
    expect(chart.limits!.sigma).toBeCloseTo(1, 0);
    expect(chart.specified).toEqual({ lower: null, upper: null, target: null });
    expect(index.says).toBe('not stated');
    expect(split.map(({ factor, name, index: own }) => [factor, name, own.n])).toEqual([
      ['type', 'SP-15', 30],
      ['type', 'SP-20', 30],
    ]);
    for (const { index: own } of split) expect(own.ppk).toBeGreaterThan(1);
  });

  it('say what they lack: a nominal value, or limits of one width', () => {
    const without = typed.map((row, index) =>
      index === 3 ? { ...row, beside: { judged: { ...judged(index), target: null } } } : row,
    );
    const lacking = study('deviation from nominal', without);
    expect(lacking.index).toMatchObject({ says: 'not stated', ppk: null });
    expect(lacking.notes[0]).toEqual({ code: 'no nominal value', facts: { lots: ['L-4'] } });
    const wider = typed.map((row, index) =>
      index % 2 ? { ...row, beside: { judged: { ...judged(index), upper: '2.09' } } } : row,
    );
    expect(study('deviation from nominal', wider).notes.map(({ code }) => code)).toContain('limits differ by type');
  });
});

it('says what share of the spread is of the measurement', () => {
  const given = { plan: { ...PLAN, gaugeStudy: 'GS-1', gaugeSd: '0.6' }, item: { upper: '240' }, baseline: 22 };
  const rows = buildsOf(quiet.slice(0, 24));
  const { index } = familyStudy(studyInput(rows, given));
  expect(index.gauge!.ofSpread).toBeCloseTo((0.6 / index.sd!) ** 2, 6);
  expect(index.gauge!.ofTolerance).toBeCloseTo(3.6 / 25, 9);
  expect(words(rows, given).get('Measurement')).toContain('14 % of the tolerance');
});

it('puts the same points into the order of their measurement, with the same limits', () => {
  const day = (index: number) => new Date(Date.parse('2031-04-01T08:00:00Z') - index * 86_400_000).toISOString();
  const rows = withMade(buildsOf(quiet.slice(0, 24)), (index) => ({ measured: { from: day(index), to: day(index) } }));
  const input = studyInput(rows, { plan: PLAN, baseline: 22 });
  const [built, tested] = [familyStudy(input).chart, chartInTestOrder(input)];
  expect(tested.points.map(({ name }) => name)).toEqual(built.points.map(({ name }) => name).reverse());
  expect(tested.limits!.centre).toBe(built.limits!.centre);
});
