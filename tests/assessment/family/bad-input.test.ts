import { statesAnIndex } from '../../../src/assessment/family/statement.js';
import { familyStudy } from '../../../src/assessment/family/study.js';
import type { StudyInput, StudyRow } from '../../../src/assessment/family/study-input.js';
import { ableText } from '../../../src/report/phrases/able.js';
import { studyRows, studyTables } from '../../../src/report/study-rows.js';
import { normalNumbers } from '../../support/numbers.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

const normal = normalNumbers(5);
const quiet = (builds: number): number[][] =>
  Array.from({ length: builds }, () => [0, 1, 2].map(() => Math.round(10 * (231 + 1.2 * normal())) / 10));
const steady = normalNumbers(11);
const CALM = Array.from({ length: 26 }, () => [0, 1, 2].map(() => Math.round(10 * (231 + 1.2 * steady())) / 10));
const EXPOSED = { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened', temperatureC: 37 };
const JUDGED = { specification: 'SP', revision: 3, lower: '215', upper: null, target: '231' };
const { pools: POOLS } = studyInput([], { baseline: 0 }).plan;
const MADE = {
  ...{ powder: [], operator: 'P-OP', analysts: ['P-AN'], maintained: null, worn: [], batches: [], measured: null },
};
const IMPACT = {
  ...{ impact: 'IMP-1', cause: { kind: 'instrument', key: 'RIG' }, conclusion: 'no effect (invented).' },
  lots: ['L-3', 'L-99'],
};
const OF_BUILDS = { plan: { subgroup: 'build' }, baseline: 22 };

/** The same builds with one value more each that is only a bound. */
function withBounds(builds: readonly (readonly number[])[], bound: string, item = {}): StudyInput {
  const rows = buildsOf(builds).map((row) => ({
    ...row,
    bounds: 1,
    beside: { apart: [{ specimen: `${row.lot}-B`, piece: '', replicate: 1, value: bound, why: 'bound' as const }] },
  }));
  return studyInput(rows, { ...OF_BUILDS, item });
}

/** What a family may come with that gives no index, and what the study says then. */
const WITHOUT_INDEX: [string, StudyInput, string][] = [
  ['no build', studyInput([], { ...OF_BUILDS, baseline: 0 }), 'points and no limits'],
  ['one lot alone', studyInput(buildsOf(quiet(1)), { ...OF_BUILDS, baseline: 1 }), 'points and no limits'],
  [
    'all values equal',
    studyInput(buildsOf(Array.from({ length: 24 }, () => [231, 231, 231])), OF_BUILDS),
    'too few or all alike',
  ],
  [
    'nothing but bounds',
    studyInput(
      buildsOf(Array.from({ length: 24 }, () => [])).map((row) => ({ ...row, bounds: 3 })),
      OF_BUILDS,
    ),
    '72 values were reported only as a bound',
  ],
  [
    'bounds that leave open whether a limit is kept',
    withBounds(quiet(24), '<240'),
    '24 values reported only as a bound that leaves open whether a limit is kept',
  ],
  [
    'builds of another unit of measure that the method gave',
    studyInput(
      buildsOf(quiet(24), () => ({ ucum: 'kg' })),
      OF_BUILDS,
    ),
    'out: ',
  ],
  [
    'builds of a machine that the plan does not pool',
    studyInput(
      buildsOf(quiet(24), () => ({ machine: 'M9' })),
      OF_BUILDS,
    ),
    'out: ',
  ],
  [
    'two media',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, medium: index % 2 ? 'SBF' : 'HBSS' } })),
      OF_BUILDS,
    ),
    'by medium: HBSS revision 1 and SBF revision 1',
  ],
  [
    'two durations',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, hours: index % 2 ? 336 : 672 } })),
      OF_BUILDS,
    ),
    'by duration: 336 h and 672 h',
  ],
  [
    'two faces',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, face: index % 2 ? 'milled' : 'peened' } })),
      OF_BUILDS,
    ),
    'by face: peened and milled',
  ],
  [
    'specimens of which some were sterilised before',
    studyInput(
      buildsOf(quiet(24), (index) => ({
        exposed: { ...EXPOSED, ...(index % 2 ? { sterilised: true as const } : {}) },
      })),
      OF_BUILDS,
    ),
    'by sterilisation: not sterilised before and sterilised before',
  ],
  [
    'a medium that flows past some',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, ...(index % 2 ? { flowMlPerMin: '5.0' } : {}) } })),
      OF_BUILDS,
    ),
    'by flow: at rest and 5 mL/min',
  ],
  [
    'two gases above the medium',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, ...(index % 2 ? { gas: 'nitrogen' } : {}) } })),
      OF_BUILDS,
    ),
    'by gas: none named and nitrogen',
  ],
  [
    'baths of which the coldest and the warmest are more than 2 °C apart, and neither from the first',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: { ...EXPOSED, temperatureC: [37, 35.5, 38][index % 3]! } })),
      OF_BUILDS,
    ),
    'by temperature: 35.5 °C and 38 °C',
  ],
  [
    'two protocols that a plan pools',
    studyInput(
      buildsOf(quiet(24), (index) => ({ exposed: EXPOSED, method: index % 2 ? 'TM-OTHER' : POOLS.methods[0]!.method })),
      {
        ...OF_BUILDS,
        plan: {
          ...OF_BUILDS.plan,
          pools: { ...POOLS, methods: [...POOLS.methods, { method: 'TM-OTHER', revision: 1 }] },
        },
      },
    ),
    'by protocol: ',
  ],
  [
    'two nominal values for one lot',
    studyInput(
      buildsOf(quiet(24)).map((row, index) => ({
        ...row,
        lot: index < 2 ? 'L-1' : row.lot,
        beside: { judged: { ...JUDGED, target: index === 1 ? '232' : '231' } },
      })),
      OF_BUILDS,
    ),
    'Two nominal values are on record for lot L-1',
  ],
  [
    'a method that changed within a lot',
    studyInput(
      buildsOf(quiet(24), (index) => ({ methodRevision: index === 1 ? 2 : 1 })).map((row, index) => ({
        ...row,
        lot: index < 2 ? 'L-1' : row.lot,
      })),
      {
        ...OF_BUILDS,
        plan: {
          subgroup: 'build',
          pools: { ...POOLS, methods: [1, 2].map((revision) => ({ method: 'TM-T', revision })) },
        },
      },
    ),
    'Lot L-1 was measured by two methods',
  ],
  [
    'a plan that admits no lot',
    studyInput(buildsOf(quiet(24)), {
      ...OF_BUILDS,
      plan: { subgroup: 'build', pools: { ...POOLS, recipeGroups: ['G'] } },
    }),
    'admits none of the 24 builds',
  ],
];

it.each(WITHOUT_INDEX)('states no index of %s, says so, and writes no number that is none', (_, input, says) => {
  const study = familyStudy(input);
  expect(statesAnIndex(study)).toBe(false);
  expect(ableText(study.index)).toMatch(/^Nothing is stated: [^:]+\.$/);
  expect(numbersIn(study).filter((number) => !Number.isFinite(number))).toEqual([]);
  const words = [
    ...studyRows(input, study).map(([, text]) => text),
    ...studyTables(study).listed.map((row) => row.says),
  ].join('\n');
  expect(words).toContain(says);
  expect(words).not.toMatch(/NaN|Infinity|undefined/);
});

/** What leaves an index, and has to be known beside it. */
it.each<[string, StudyInput, string]>([
  ['a short baseline', studyInput(buildsOf(quiet(24)), { ...OF_BUILDS, baseline: 12 }), 'The baseline has 12 points'],
  [
    'a baseline that is itself unstable',
    studyInput(buildsOf([...quiet(20), [245, 245, 245], ...quiet(3)]), { ...OF_BUILDS, baseline: 24 }),
    'The baseline itself has',
  ],
  [
    'a plan that was signed after the data',
    studyInput(buildsOf(quiet(26)), {
      ...OF_BUILDS,
      more: { approval: { at: '2031-06-01T08:00:00Z', code: 'P-QE', name: 'Quentin Example' } },
    }),
    'the plan was not fixed before them',
  ],
  [
    'values that are only bounds, which count as such',
    withBounds(quiet(24), '>234'),
    '24 values reported only as a bound beside 72 numbers',
  ],
  [
    'bounds beyond the limit for certain, which count too',
    withBounds(quiet(24), '<214'),
    '24 values reported only as a bound beside 72 numbers',
  ],
  [
    'a plan that pools more than the specification',
    studyInput(buildsOf(quiet(24)), {
      ...OF_BUILDS,
      plan: { subgroup: 'build', pools: { ...POOLS, machines: ['M1', 'M9'] } },
    }),
    'more than the specification by which lots are assessed: machine M9',
  ],
  [
    'an instrument whose calibration was overdue',
    studyInput(
      buildsOf(quiet(24)).map((row, index) => ({
        ...row,
        beside: {
          made: { ...MADE, calibrated: [{ instrument: 'RIG', at: null, ...(index < 2 && { overdue: true }) }] },
        },
      })) as StudyRow[],
      OF_BUILDS,
    ),
    'or without one: RIG on lots L-1, L-2',
  ],
  [
    'an impact that touches values which count',
    studyInput(buildsOf(quiet(24)), { ...OF_BUILDS, more: { impacts: [IMPACT] } }),
    'Impact IMP-1 (instrument RIG was found off) touches values that count here, of lot L-3: no effect (invented).',
  ],
  [
    'single values as points where builds differ',
    studyInput(buildsOf(quiet(24).map((own, index) => own.map((value) => value + (index % 2 ? 6 : 0)))), {
      ...OF_BUILDS,
      plan: { subgroup: 'none' },
    }),
    'points of one build are not independent',
  ],
  [
    'lots of the window that nobody assessed',
    studyInput(buildsOf(quiet(24)), {
      ...OF_BUILDS,
      more: { unassessed: [{ lot: 'L-77', builtAt: '2031-02-09T08:00:00Z' }] },
    }),
    'lot L-77 is not assessed',
  ],
])('says outright of %s', (_, input, says) => {
  const study = familyStudy(input);
  expect(
    studyRows(input, study)
      .map(([, text]) => text)
      .join('\n'),
  ).toContain(says);
  expect(numbersIn(study).every(Number.isFinite)).toBe(true);
});

it.each([
  ['a short baseline', { baseline: 12 }, 'baseline'],
  [
    'a plan after its data',
    { more: { approval: { at: '2031-06-01T08:00:00Z', code: 'P-QE', name: 'Q' } } },
    'plan after data',
  ],
] as const)('claims no stability under %s', (_, given, noCpk) => {
  const { index } = familyStudy(studyInput(buildsOf(CALM), { ...OF_BUILDS, ...given } as never));
  expect(index).toMatchObject({ cpk: null, noCpk });
});

it('says that the distribution fits no such values where the bounds beside them hide nothing', () => {
  const upper = { lower: undefined, upper: '1', direction: 'lower-is-better' };
  const values = quiet(24).map((build, index) =>
    build.map((value, at) => (index + at === 0 ? 0 : (value - 220) / 100)),
  );
  const silentOf = (bound: string, distribution: string) => {
    const input = withBounds(values, bound, upper);
    const plan = { ...input.plan, distribution: { name: distribution, why: 'rates are (invented)' } };
    return familyStudy({ ...input, plan }).index.silent;
  };
  expect(silentOf('<0.1', 'lognormal')).toBe('no fit');
  expect(silentOf('<2', 'lognormal')).toBe('bounds');
  expect(silentOf('<2', 'normal')).toBe('bounds');
});

it('lets a plan tell media, durations and faces apart: one of each is in, the others are out with the reason', () => {
  const exposed = (index: number) => ({ exposed: { ...EXPOSED, hours: index < 22 ? 335 + (index % 3) : 672 } });
  const plan = { subgroup: 'build', pools: { ...POOLS, medium: 'SBF', exposure: '14 d', face: 'peened' } };
  const study = familyStudy(studyInput(buildsOf(quiet(24), exposed), { plan, baseline: 22 }));
  expect(study.index.builds).toBe(22);
  expect(study.listed.at(-1)!.leftOut).toEqual({ code: 'exposure', facts: { exposure: '672 h' } });
  expect(study.notes).toEqual([]);
});

it('lets a plan tell sterilised specimens from others', () => {
  const exposed = (index: number) => ({
    exposed: { ...EXPOSED, ...(index < 22 ? {} : { sterilised: true as const }) },
  });
  const plan = { subgroup: 'build', pools: { ...POOLS, medium: 'SBF', exposure: '14 d', sterilised: 'no' as const } };
  const study = familyStudy(studyInput(buildsOf(quiet(24), exposed), { plan, baseline: 22 }));
  expect(study.index.builds).toBe(22);
  expect(study.listed.at(-1)!.leftOut).toEqual({ code: 'sterilisation', facts: { sterilised: 'sterilised before' } });
});

it.each([
  ['flow', { flow: '5' }, { flowMlPerMin: '5.0' }, { code: 'flow', facts: { flow: 'at rest' } }],
  ['no flow', { flow: 'at rest' }, {}, { code: 'flow', facts: { flow: '2 mL/min' } }, { flowMlPerMin: '2' }],
  ['gas', { gas: 'nitrogen' }, { gas: 'nitrogen' }, { code: 'gas', facts: { gas: 'none named' } }],
  [
    'temperature',
    { temperatureC: '37' },
    { temperatureC: 37.9 },
    { code: 'temperature', facts: { temperature: '38.1 °C' } },
    { temperatureC: 38.1 },
  ],
] as const)('lets a plan tell exposures apart by %s', (_, named, within, leftOut, outside?: object) => {
  const exposed = (index: number) => ({ exposed: { ...EXPOSED, ...(index < 22 ? within : outside) } });
  const plan = { subgroup: 'build' as const, pools: { ...POOLS, medium: 'SBF', ...named } };
  const study = familyStudy(studyInput(buildsOf(quiet(24), exposed), { plan, baseline: 22 }));
  expect(study.index.builds).toBe(22);
  expect(study.listed.at(-1)!.leftOut).toEqual(leftOut);
});

function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(numbersIn) : [];
}
