import { FICTION, PEOPLE } from '../names.js';
import { STRIP_CELLS, STRIP_FAMILY, STRIP_GROUP, STRIP_SPECIFICATION } from '../strips/strip-site.js';
import { processValidation } from '../validation.js';
import { designOf, ofShare, ref, refsOf, shows, type Written } from './written.js';

/** The design history of the rib strips, kept on paper for a year and brought in with their first lots. */

const of = designOf(STRIP_FAMILY);
const spec = ref('specification', STRIP_SPECIFICATION.specification);
const recipes = STRIP_CELLS.map(({ recipe }) => ref('recipe', recipe.recipe));
const REVIEWED = { participants: [PEOPLE.process, PEOPLE.quality, PEOPLE.release], independent: PEOPLE.release };
const STAGES = { inputs: 'inputs', studies: 'design and studies', transfer: 'transfer to both cells' } as const;
const AGED = 'sealed in their packs, 37 days at 55 °C, for one year at 22 °C (fictional)';

/** One for each machine: both build by recipes of one group. */
const VALIDATIONS = STRIP_CELLS.map(({ machine }, index) => ({
  machine,
  validation: `PV-RS-${index + 1}`,
  revision: 1,
}));

const validations: readonly Written[] = VALIDATIONS.map(({ machine, validation }) => [
  validation,
  {
    ...processValidation,
    ...{ validation, machine, title: `Hybrid build of rib strips on ${machine}, ${FICTION}`, family: STRIP_FAMILY },
    ...{ recipeGroups: [STRIP_GROUP], shown: [] },
  },
]);

const needsAndInputs: readonly Written[] = [
  of.need(
    'UN-RS-1',
    'Keeps the rib in line while it heals',
    'The strip holds both ends of a broken rib in line for eight weeks, through every breath.',
    'seven chest surgeons asked in 2024, report UR-3 (fictional)',
  ),
  of.need(
    'UN-RS-2',
    'Lies close to the rib',
    'The strip follows the rib and does not rub on what lies over it.',
    'seven chest surgeons asked in 2024, report UR-3 (fictional)',
  ),
  of.input('DI-RS-1', 'Hard enough', 'Hardness of at least 55 in the middle of each strip.', {
    ...{ source: 'UN-RS-1, and the load case of report CALC-3 (fictional)', needs: ['UN-RS-1'], seenBy: ['hv'] },
  }),
  of.input('DI-RS-2', 'Sound metal', 'Density of at least 1.765 g/cm³ in each strip.', {
    ...{ source: 'UN-RS-1, and the load case of report CALC-3 (fictional)', needs: ['UN-RS-1'], seenBy: ['dens'] },
  }),
  of.input('DI-RS-3', 'Narrow and flat', 'From 3.85 to 4.15 mm wide, and flat to 45 µm.', {
    ...{ source: 'UN-RS-2', needs: ['UN-RS-2'], seenBy: ['width', 'flat'] },
  }),
];

const outputs: readonly Written[] = [
  of.output(
    'DO-RS-1',
    'Limits of each lot',
    spec,
    ['DI-RS-1', 'DI-RS-2', 'DI-RS-3'],
    'each lot is judged by the specification',
  ),
  ...recipes.map((recipe, index) =>
    of.output(
      `DO-RS-${index + 2}`,
      `How a strip is built on ${STRIP_CELLS[index]!.machine}`,
      recipe,
      ['DI-RS-1', 'DI-RS-2'],
      'each build follows the recipe within its windows',
    ),
  ),
];

const studies: readonly Written[] = [
  of.study('DS-RS-1', 'Hardness and density on both machines', {
    purpose: 'verification',
    criterion: { characteristic: 'hv', claim: 'at least', value: '55', ucum: '1', ...ofShare() },
    technique: 'one-sided normal tolerance limit; density beside it as each value',
    n: 48,
    rationale:
      'Eight builds of three strips on each of both machines: what differs between builds and between machines is in it, and neither machine hides behind the other (fictional).',
    ...{ days: ['2025-05-05', '2025-06-27'], protocolOn: '2025-04-28', reportOn: '2025-07-11', sterilised: 'no' },
    reportSays: 'Invented report: 48 values, mean 68.1, standard deviation 1.4; density from 1.783 to 1.799 g/cm³.',
    ...shows({ inputs: ['DI-RS-1', 'DI-RS-2'], outputs: ['DO-RS-2', 'DO-RS-3'] }),
  }),
  of.study('DS-RS-2', 'Width and flatness on both machines', {
    purpose: 'process',
    criterion: { characteristic: 'width', claim: 'within', value: '3.85', upTo: '4.15', ucum: 'mm' },
    technique: 'each value; flatness beside it',
    n: 48,
    rationale:
      'The same strips as for hardness, each measured at five places: the first and the last of a build lie among them, where heat has bent a strip most (fictional).',
    ...{ days: ['2025-05-06', '2025-06-30'], protocolOn: '2025-04-28', reportOn: '2025-07-11', sterilised: 'no' },
    reportSays: 'Invented report: from 3.97 to 4.03 mm wide, flat to 28 µm at most.',
    ...shows({ inputs: ['DI-RS-3'], outputs: ['DO-RS-1'] }),
  }),
  of.study('DS-RS-3', 'Eight weeks of breathing, sterilised and aged', {
    purpose: 'validation',
    criterion: { characteristic: 'breaths', claim: 'at least', value: '1200000', ucum: '1' },
    technique: 'each strip on a rib of a model that breathes; seen by two chest surgeons',
    n: 16,
    rationale:
      'Sixteen strips of the least hardness and width that the specification lets pass: with none that fails, 83 % of all strips are shown to hold with a confidence of 95 % (fictional).',
    ...{ days: ['2025-06-02', '2025-08-15'], protocolOn: '2025-05-23', reportOn: '2025-08-29' },
    ...{ sterilised: 'yes', aged: AGED },
    reportSays: 'Invented report: 16 strips for 1 200 000 breaths each, none broke or came loose; none rubbed.',
    ...shows({ needs: ['UN-RS-1', 'UN-RS-2'] }),
  }),
];

const risks: readonly Written[] = [
  of.hazard('HZ-RS-1', 'Strip breaks or comes loose while the rib heals', {
    situation: 'The strip is softer than it should be, or has pores, or does not lie on the rib.',
    ...{ harm: 'pain, second operation', severity: 'S3', probability: { before: 'P3', after: 'P1' } },
  }),
  of.control('RC-RS-1', 'Least hardness and density of each strip', {
    ...{ by: 'design', text: 'Limits on hardness and density, measured on every strip.', characteristic: 'hv' },
    ...{ hazards: ['HZ-RS-1'], shownBy: ['DS-RS-1', 'DS-RS-3'] },
  }),
];

const planAndReviews: readonly Written[] = [
  of.plan(
    'DP-RS',
    'Plan of the rib strips',
    'A strip of a lean magnesium alloy that holds a broken rib and is absorbed, built on two machines of one make. The process engineer designs it, quality approves, regulatory reviews without a part in the design.',
    [
      [STAGES.inputs, '2024-12-20'],
      [STAGES.studies, '2025-09-05'],
      [STAGES.transfer, '2025-09-26'],
    ],
  ),
  of.review('DR-RS-1', 'Needs, inputs and hazards', {
    ...{ stage: STAGES.inputs, on: '2024-12-18', ...REVIEWED, findings: 'none' },
    reviews: [...refsOf(needsAndInputs, ['user-need', 'design-input']), ...refsOf(risks, ['hazard'])],
  }),
  of.review('DR-RS-2', 'Design and its studies', {
    ...{ stage: STAGES.studies, on: '2025-09-03', ...REVIEWED, findings: 'none' },
    reviews: [...refsOf(outputs, ['design-output']), ...refsOf(studies, ['design-study'])],
  }),
  of.review('DR-RS-3', 'Transfer to both cells', {
    ...{ stage: STAGES.transfer, on: '2025-09-24', ...REVIEWED, findings: 'none' },
    reviews: [...recipes, spec, ...VALIDATIONS.map(({ validation }) => ref('process-validation', validation))],
  }),
  of.transfer('DT-RS-1', 'Rib strips to two cells', {
    ...{ to: `hybrid cells ${STRIP_CELLS.map(({ machine }) => machine).join(' and ')}`, on: '2025-09-24' },
    transfers: [...recipes, spec],
    shownBy: VALIDATIONS.map(({ validation, revision }) => ({ validation, revision })),
    text: 'Two operators built two lots on each machine by the recipes alone; all strips met the specification (fictional).',
  }),
];

export const STRIP_DESIGN: readonly Written[] = [
  ...validations,
  ...needsAndInputs,
  ...outputs,
  ...studies,
  ...risks,
  ...planAndReviews,
];
