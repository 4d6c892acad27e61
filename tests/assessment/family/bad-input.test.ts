import { statesAnIndex } from '../../../src/assessment/family/statement.js';
import { familyStudy } from '../../../src/assessment/family/study.js';
import type { StudyInput } from '../../../src/assessment/family/study-input.js';
import { studyRows, studyTables } from '../../../src/report/study-rows.js';
import { normalNumbers } from '../../support/numbers.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

const normal = normalNumbers(5);
const quiet = (builds: number): number[][] =>
  Array.from({ length: builds }, () => [0, 1, 2].map(() => Math.round(10 * (231 + 1.2 * normal())) / 10));
const OF_BUILDS = { plan: { subgroup: 'build' }, baseline: 22 };

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
];

it.each(WITHOUT_INDEX)('states no index of %s, says so, and writes no number that is none', (_, input, says) => {
  const study = familyStudy(input);
  expect(statesAnIndex(study)).toBe(false);
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

function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(numbersIn) : [];
}
