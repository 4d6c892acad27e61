import { MACHINE, PEOPLE } from '../names.js';
import { PIN_FAMILY, PIN_RECIPE, PIN_SPECIFICATION, PIN_VALIDATION } from '../pins/pin-site.js';
import { designOf, ofShare, ref, refsOf, shows, type Written } from './written.js';

/** The design history of the zinc pins: small, and whole before their first build. */

const of = designOf(PIN_FAMILY);
const spec = ref('specification', PIN_SPECIFICATION.specification);
const recipe = ref('recipe', PIN_RECIPE.recipe);
const REVIEWED = { participants: [PEOPLE.process, PEOPLE.quality, PEOPLE.release], independent: PEOPLE.release };
const STAGES = { inputs: 'inputs', studies: 'design and studies', transfer: 'transfer to the cell' } as const;

const needsAndInputs: readonly Written[] = [
  of.need(
    'UN-ZP-1',
    'Holds both pieces until they have grown together',
    'The pin holds two pieces of a metacarpal against each other for six weeks, under what the hand does when it is at rest.',
    'six hand surgeons asked in 2026, report UR-5 (fictional)',
  ),
  of.need(
    'UN-ZP-2',
    'Is gone without a second operation',
    'The pin is absorbed, and at no time gives off more zinc than the body around it clears.',
    'six hand surgeons asked in 2026, report UR-5 (fictional)',
  ),
  of.input('DI-ZP-1', 'Strength', 'Tensile strength of at least 215 MPa along the pin, in each lot.', {
    ...{ source: 'UN-ZP-1, and the load case of report CALC-5 (fictional)', needs: ['UN-ZP-1'], seenBy: ['rm'] },
  }),
  of.input('DI-ZP-2', 'Fits the drill', 'From 1.45 to 1.55 mm thick, so that it sits tight in a hole of 1.6 mm.', {
    ...{ source: 'UN-ZP-1', needs: ['UN-ZP-1'], seenBy: ['thickness'] },
  }),
  of.input('DI-ZP-3', 'The alloy that was meant', 'From 0.6 to 1.2 % of magnesium in the metal as it was built.', {
    ...{ source: 'UN-ZP-1, UN-ZP-2', needs: ['UN-ZP-1', 'UN-ZP-2'], seenBy: ['mg'] },
  }),
  of.input('DI-ZP-4', 'Clean surface', 'At most 0.02 % of iron on the surface that was peened.', {
    ...{ source: 'hazard HZ-ZP-2: iron makes local cells', needs: ['UN-ZP-2'], seenBy: ['sfe'] },
  }),
];

const outputs: readonly Written[] = [
  of.output(
    'DO-ZP-1',
    'Limits of each lot',
    spec,
    ['DI-ZP-1', 'DI-ZP-2', 'DI-ZP-3', 'DI-ZP-4'],
    'each lot is judged by the specification',
  ),
  of.output(
    'DO-ZP-2',
    'How a pin is built and peened',
    recipe,
    ['DI-ZP-1', 'DI-ZP-4'],
    'each build follows the recipe within its windows',
  ),
];

const studies: readonly Written[] = [
  of.study('DS-ZP-1', 'Strength and thickness of six builds', {
    purpose: 'verification',
    criterion: { characteristic: 'rm', claim: 'at least', value: '215', ucum: 'MPa', ...ofShare() },
    technique: 'one-sided normal tolerance limit; thickness beside it as each value',
    n: 30,
    rationale:
      'Six builds of five pins, of two heats and by three operators: what differs from build to build is in it, and 30 values leave room for a build that differs (fictional).',
    ...{ days: ['2026-07-06', '2026-08-14'], protocolOn: '2026-06-29', reportOn: '2026-08-28', sterilised: 'no' },
    reportSays: 'Invented report: 30 values, mean 232 MPa, standard deviation 3.1 MPa; from 1.489 to 1.514 mm thick.',
    ...shows({ inputs: ['DI-ZP-1', 'DI-ZP-2'], outputs: ['DO-ZP-2'] }),
  }),
  of.study('DS-ZP-2', 'Magnesium and iron of six builds', {
    purpose: 'process',
    criterion: { characteristic: 'mg', claim: 'within', value: '0.6', upTo: '1.2', ucum: '%' },
    technique: 'each value; iron on the surface beside it',
    n: 12,
    rationale:
      'Two pieces of each of the same six builds, the first and the last that was deposited of each filling: what burns off on the way is most there (fictional).',
    ...{ days: ['2026-07-06', '2026-08-21'], protocolOn: '2026-06-29', reportOn: '2026-09-04', sterilised: 'no' },
    reportSays: 'Invented report: magnesium from 0.88 to 0.97 %, iron on the surface from 0.0031 to 0.0079 %.',
    ...shows({ inputs: ['DI-ZP-3', 'DI-ZP-4'], outputs: ['DO-ZP-1'] }),
  }),
  of.study('DS-ZP-3', 'Six weeks in medium, then bent', {
    purpose: 'validation',
    criterion: { characteristic: 'rm', claim: 'at least', value: '150', ucum: 'MPa', ...ofShare('0.90') },
    technique: 'one-sided normal tolerance limit',
    n: 20,
    rationale:
      'Twenty of the thinnest pins that the specification lets pass, after six weeks in medium: of no other pin is less left, and 150 MPa is what the load case asks for with a factor of two (fictional).',
    ...{ days: ['2026-08-03', '2026-09-25'], protocolOn: '2026-07-24', reportOn: '2026-10-02', sterilised: 'no' },
    reportSays: 'Invented report: 20 pins, mean 201 MPa, standard deviation 9.4 MPa after six weeks; none broke.',
    ...shows({ needs: ['UN-ZP-1'] }),
  }),
  of.study('DS-ZP-4', 'Biological evaluation', {
    purpose: 'biological',
    criterion: { characteristic: 'viability', claim: 'at least', value: '70', ucum: '%' },
    technique: 'each value, as ISO 10993-5 asks; evaluation of all end points by ISO 10993-1',
    n: 6,
    rationale:
      'Six extracts of pins of two heats, that with the most iron among them; what the alloy gives off in a year is judged against what is taken up with food (fictional).',
    ...{ days: ['2026-07-20', '2026-09-25'], protocolOn: '2026-07-10', reportOn: '2026-10-05', sterilised: 'no' },
    reportSays: 'Invented report: viability from 78 to 91 %; no end point is left open in the biological evaluation.',
    ...shows({ needs: ['UN-ZP-2'] }),
  }),
];

const risks: readonly Written[] = [
  of.hazard('HZ-ZP-1', 'Pin breaks before the bone carries', {
    situation: 'The pin is weaker than it should be, or loses metal faster.',
    ...{ harm: 'second operation, pain', severity: 'S3', probability: { before: 'P3', after: 'P1' } },
  }),
  of.hazard('HZ-ZP-2', 'More is given off than the body clears', {
    situation: 'Iron on the surface makes local cells, and the pin dissolves faster than was planned.',
    ...{ harm: 'swelling, loosened pin', severity: 'S2', probability: { before: 'P3', after: 'P1' } },
  }),
  of.control('RC-ZP-1', 'Least strength of each lot', {
    ...{ by: 'design', text: 'A limit on strength, tested on coupons of each build.', characteristic: 'rm' },
    ...{ hazards: ['HZ-ZP-1'], shownBy: ['DS-ZP-1', 'DS-ZP-3'] },
  }),
  of.control('RC-ZP-2', 'Carbide tip, pickled surface', {
    ...{
      by: 'design',
      text: 'Peened by a tip without iron, pickled, and a limit on what is left.',
      characteristic: 'sfe',
    },
    ...{ hazards: ['HZ-ZP-2'], shownBy: ['DS-ZP-2', 'DS-ZP-4'] },
  }),
];

const planAndReviews: readonly Written[] = [
  of.plan(
    'DP-ZP',
    'Plan of the zinc pins',
    'A pin of a zinc alloy that holds small bones and is absorbed, built on the machine of the bridge plates after a changeover. The process engineer designs it, quality approves, regulatory reviews without a part in the design.',
    [
      [STAGES.inputs, '2026-06-26'],
      [STAGES.studies, '2026-10-09'],
      [STAGES.transfer, '2026-11-06'],
    ],
  ),
  of.review('DR-ZP-1', 'Needs, inputs and hazards', {
    ...{ stage: STAGES.inputs, on: '2026-06-25', ...REVIEWED, findings: 'none' },
    reviews: [...refsOf(needsAndInputs, ['user-need', 'design-input']), ...refsOf(risks, ['hazard'])],
  }),
  of.review('DR-ZP-2', 'Design and its studies', {
    ...{ stage: STAGES.studies, on: '2026-10-08', ...REVIEWED, findings: 'none' },
    reviews: [...refsOf(outputs, ['design-output']), ...refsOf(studies, ['design-study'])],
  }),
  of.review('DR-ZP-3', 'Transfer to the cell', {
    ...{ stage: STAGES.transfer, on: '2026-11-06', ...REVIEWED, findings: 'none' },
    reviews: [recipe, spec, ref('process-validation', PIN_VALIDATION.validation)],
  }),
  of.transfer('DT-ZP-1', 'Zinc pins to the first cell', {
    ...{ to: `hybrid cell ${MACHINE}, laboratory 2`, on: '2026-11-06', transfers: [recipe, spec] },
    shownBy: [PIN_VALIDATION],
    text: 'Two operators built one lot each by the recipe alone, after a changeover; all pins met the specification (fictional).',
  }),
];

export const PIN_DESIGN: readonly Written[] = [...needsAndInputs, ...outputs, ...studies, ...risks, ...planAndReviews];
