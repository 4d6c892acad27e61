import { FAMILY, MACHINE, PEOPLE, RECIPE, SPECIFICATION, VALIDATION } from '../names.js';
import { designOf, ofShare, ref, refsOf, shows, type Written } from './written.js';

/** The design history of the bridge plates: kept on paper for two years, and brought in with the cell. */

const of = designOf(FAMILY);
const spec = ref('specification', SPECIFICATION.specification, SPECIFICATION.revision);
const recipe = ref('recipe', RECIPE.recipe, RECIPE.revision);
const REVIEWED = { participants: [PEOPLE.process, PEOPLE.quality, PEOPLE.release], independent: PEOPLE.release };

/** The program that writes the paths of the first cell. */
const PATH_WRITER = { software: 'LAYERS', revision: 1 };

const software: Written = [
  PATH_WRITER.software,
  {
    ...{ kind: 'software', format: 1, ...PATH_WRITER, title: 'Layer writer (fictional)', version: '4.8' },
    use: 'from models to paths of the machine',
    validatedBy: { report: 'SV-LAYERS-4.8', on: '2025-07-18', by: PEOPLE.process },
  },
];

const needsAndInputs: readonly Written[] = [
  of.need(
    'UN-BP-1',
    'Holds until the bone carries',
    'The plate holds both ends of the fracture for twelve weeks, until bone bridges the gap.',
    'eleven surgeons asked in 2024, report UR-1 (fictional)',
  ),
  of.need(
    'UN-BP-2',
    'Is gone without a second operation',
    'The plate is absorbed, and at no time gives off more than the body around it clears.',
    'eleven surgeons and four patients asked in 2024, report UR-1 (fictional)',
  ),
  of.need(
    'UN-BP-3',
    'Lies smooth under the skin',
    'The plate cannot be felt through the skin, and no edge of it rubs.',
    'four patients asked in 2024, report UR-1 (fictional)',
  ),
  of.need(
    'UN-BP-4',
    'The right plate, sterile, in the theatre',
    'Whoever opens a pack sees before for whom the plate in it is, and that it is sterile still.',
    'theatre nurses asked in 2024, report UR-2 (fictional)',
  ),
  of.input('DI-BP-1', 'Strength', 'Tensile strength of at least 215 MPa along the bridge, in each lot.', {
    ...{ source: 'UN-BP-1, and the load case of report CALC-1 (fictional)', needs: ['UN-BP-1'], seenBy: ['rm'] },
  }),
  of.input(
    'DI-BP-2',
    'Rate of degradation',
    'At most 0.45 mm in a year on the bench, so that twelve weeks are spanned.',
    {
      ...{ source: 'UN-BP-1, UN-BP-2', needs: ['UN-BP-1', 'UN-BP-2'], seenBy: ['rate'] },
    },
  ),
  of.input('DI-BP-3', 'Surface under compression', 'Residual stress of the peened surface at −40 MPa or below.', {
    ...{ source: 'hazard HZ-BP-1: cracks begin where the surface is pulled', needs: ['UN-BP-1'], seenBy: ['stress'] },
  }),
  of.input('DI-BP-4', 'Sound metal', 'At most 0.50 % of pores where the plate carries.', {
    ...{ source: 'UN-BP-1, and the load case of report CALC-1 (fictional)', needs: ['UN-BP-1'], seenBy: ['porosity'] },
  }),
  of.input('DI-BP-5', 'Thin and smooth', 'Plate of 1.45 to 1.55 mm; roughness Sa of the upper face of at most 6 µm.', {
    ...{ source: 'UN-BP-3', needs: ['UN-BP-3'], seenBy: ['thickness', 'sa'] },
  }),
  of.input('DI-BP-6', 'Pure alloy', 'Iron, nickel and copper of each heat below the limits of the specification.', {
    ...{ source: 'hazard HZ-BP-2, and the biological evaluation plan (fictional)', needs: ['UN-BP-2'] },
  }),
  of.input(
    'DI-BP-7',
    'A pack that tells and keeps',
    'Label with case and side, read at arm’s length; sterile for one year.',
    {
      ...{ source: 'UN-BP-4', needs: ['UN-BP-4'] },
    },
  ),
];

const outputs: readonly Written[] = [
  of.output(
    'DO-BP-1',
    'Limits of each lot',
    spec,
    ['DI-BP-1', 'DI-BP-2', 'DI-BP-3', 'DI-BP-4', 'DI-BP-5', 'DI-BP-6'],
    'each lot is judged by the specification',
  ),
  of.output(
    'DO-BP-2',
    'How a plate is built, peened and milled',
    recipe,
    ['DI-BP-1', 'DI-BP-3', 'DI-BP-4', 'DI-BP-5'],
    'each build follows the recipe within its windows',
  ),
  of.output(
    'DO-BP-3',
    'Label and implant card',
    ref('labelling-decision', 'LD-BP-1'),
    ['DI-BP-7'],
    'each label is read before its pack leaves',
  ),
  of.output(
    'DO-BP-4',
    'Program that writes the paths',
    ref('software', PATH_WRITER.software),
    ['DI-BP-5'],
    'the version that ran is the one that was validated',
  ),
  of.labelling('LD-BP-1', 'No implant card, label with case and side', {
    ...{ about: 'implant card', laws: ['EU'] },
    decision: 'No card goes with a plate. The label names case, side, serial and expiry (fictional).',
    why: 'Plates are exempt (Regulation (EU) 2017/745 article 18); the theatre asked for case and side.',
  }),
  software,
];

const AGED = 'sealed in their packs, 37 days at 55 °C, for one year at 22 °C (fictional)';

const studies: readonly Written[] = [
  of.study('DS-BP-1', 'Strength of nine builds', {
    purpose: 'verification',
    criterion: { characteristic: 'rm', claim: 'at least', value: '215', ucum: 'MPa', ...ofShare() },
    technique: 'one-sided normal tolerance limit',
    n: 45,
    rationale:
      'Nine builds of five coupons, on three days each with one filling of powder: what differs from build to build is in it, and 45 values leave room for a build that differs (fictional).',
    ...{ days: ['2025-04-07', '2025-05-30'], protocolOn: '2025-03-31', reportOn: '2025-06-13', sterilised: 'no' },
    reportSays: 'Invented report: 45 values, mean 230.9 MPa, standard deviation 2.4 MPa, normal by probability plot.',
    ...shows({ inputs: ['DI-BP-1'], outputs: ['DO-BP-2'] }),
  }),
  of.study('DS-BP-2', 'Rate and stress of nine builds', {
    purpose: 'verification',
    criterion: { characteristic: 'rate', claim: 'at most', value: '0.45', ucum: 'mm/a', ...ofShare() },
    technique: 'one-sided normal tolerance limit; stress beside it as each value',
    n: 45,
    rationale:
      'The same nine builds as for strength, so that rate, stress and strength are seen together on neighbouring coupons of one build (fictional).',
    ...{ days: ['2025-04-07', '2025-06-20'], protocolOn: '2025-03-31', reportOn: '2025-07-04', sterilised: 'no' },
    reportSays:
      'Invented report: 45 values, mean 0.31 mm/a, standard deviation 0.022 mm/a; stress from -104 to -68 MPa.',
    ...shows({ inputs: ['DI-BP-2', 'DI-BP-3'] }),
  }),
  of.study('DS-BP-3', 'Pores, thickness and roughness as built', {
    purpose: 'process',
    criterion: {
      ...{ characteristic: 'porosity', claim: 'at most', value: '0.50', ucum: '%', by: 'zero failures' },
      ...ofShare('0.90'),
    },
    technique: 'number of plates of which none may fail',
    n: 29,
    rationale:
      'With 29 plates of which none fails, 90 % of all plates are shown to conform with a confidence of 95 %; they are of six builds and of every place on the plate (fictional).',
    ...{ days: ['2025-05-05', '2025-06-27'], protocolOn: '2025-04-25', reportOn: '2025-07-11', sterilised: 'no' },
    reportSays:
      'Invented report: none of 29 plates above 0.31 % of pores, beyond 1.472 to 1.531 mm or above Sa 4.9 µm.',
    ...shows({ inputs: ['DI-BP-4', 'DI-BP-5'], outputs: ['DO-BP-1'] }),
  }),
  of.study('DS-BP-4', 'Twelve weeks under load, sterilised and aged', {
    purpose: 'validation',
    criterion: { characteristic: 'rm', claim: 'at least', value: '129', ucum: 'MPa', ...ofShare('0.90') },
    technique: 'one-sided normal tolerance limit',
    n: 20,
    rationale:
      'Twenty plates of the thinnest section that the specification lets pass, after twelve weeks in medium: less metal is left of no other plate, and 60 % of the least strength has to be there (fictional).',
    ...{ days: ['2025-04-14', '2025-08-08'], protocolOn: '2025-04-04', reportOn: '2025-08-22' },
    ...{ sterilised: 'yes', aged: AGED },
    reportSays: 'Invented report: 20 plates, mean 163 MPa, standard deviation 7.9 MPa after twelve weeks; none broke.',
    ...shows({ needs: ['UN-BP-1'] }),
  }),
  of.study('DS-BP-5', 'Biological evaluation', {
    purpose: 'biological',
    criterion: { characteristic: 'viability', claim: 'at least', value: '70', ucum: '%' },
    technique: 'each value, as ISO 10993-5 asks; evaluation of all end points by ISO 10993-1',
    n: 6,
    rationale:
      'Six extracts of plates of three heats, that with the most iron among them; what the alloy gives off in a year is judged against what is taken up with food (fictional).',
    ...{ days: ['2025-03-03', '2025-06-27'], protocolOn: '2025-02-21', reportOn: '2025-07-25', sterilised: 'yes' },
    reportSays: 'Invented report: viability from 84 to 97 %; no end point is left open in the biological evaluation.',
    ...shows({ inputs: ['DI-BP-6'], needs: ['UN-BP-2'] }),
  }),
  of.study('DS-BP-6', 'Sterilisation by gamma rays', {
    purpose: 'sterilisation',
    criterion: { characteristic: 'dose', claim: 'within', value: '25', upTo: '32', ucum: 'kGy' },
    technique: 'each value of a dose map; 25 kGy substantiated as ISO 11137-2 lets it',
    n: 9,
    rationale:
      'Nine dosimeters at the places of least and most dose of a full box; a full box is the worst case, since a box of few packs shields less (fictional).',
    ...{ days: ['2025-05-12', '2025-05-14'], protocolOn: '2025-05-02', reportOn: '2025-06-06', sterilised: 'yes' },
    reportSays: 'Invented report: from 25.9 to 30.8 kGy; the sterility tests of the substantiation found no growth.',
    ...shows({ inputs: ['DI-BP-7'] }),
  }),
  of.study('DS-BP-7', 'Packs after a year', {
    purpose: 'shelf life',
    criterion: { characteristic: 'peel', claim: 'at least', value: '1.2', ucum: 'N', ...ofShare('0.90') },
    technique: 'one-sided normal tolerance limit; each pack by dye as well',
    n: 30,
    rationale:
      'Thirty packs of three sealing runs at the coldest, the middle and the hottest seal that are allowed, sent through the post before they were aged: what follows then is milder (fictional).',
    ...{ days: ['2025-05-19', '2025-07-11'], protocolOn: '2025-05-09', reportOn: '2025-07-25' },
    ...{ sterilised: 'yes', aged: AGED },
    reportSays:
      'Invented report: 30 seals, mean 2.1 N, standard deviation 0.24 N; no pack leaked. Ageing by ASTM F1980.',
    ...shows({ inputs: ['DI-BP-7'] }),
  }),
  of.study('DS-BP-8', 'Plates in the hands of theatre teams', {
    purpose: 'usability',
    criterion: { characteristic: 'task', claim: 'at least', value: '1', ucum: '1' },
    technique: 'each task that matters for safety is done by each team, seen by two observers (IEC 62366-1)',
    n: 15,
    rationale:
      'Fifteen teams of five clinics: with fifteen, nearly every trouble that one team in five has is seen once (fictional); two had never held such a plate.',
    ...{ days: ['2025-07-14', '2025-07-25'], protocolOn: '2025-07-04', reportOn: '2025-08-15', sterilised: 'yes' },
    reportSays:
      'Invented report: 15 teams chose, opened and placed the right plate; nobody felt an edge through the skin.',
    ...shows({ outputs: ['DO-BP-3', 'DO-BP-4'], needs: ['UN-BP-3', 'UN-BP-4'] }),
  }),
];

const risks: readonly Written[] = [
  of.hazard('HZ-BP-1', 'Plate breaks before the bone carries', {
    situation: 'The plate is weaker than it should be, or loses metal faster, or cracks from its surface.',
    ...{ harm: 'second operation, pain', severity: 'S3', probability: { before: 'P3', after: 'P1' } },
  }),
  of.hazard('HZ-BP-2', 'More is given off than the body clears', {
    situation: 'Impurities make local cells, so that gas gathers under the skin.',
    ...{ harm: 'swelling, loosened plate', severity: 'S2', probability: { before: 'P3', after: 'P1' } },
  }),
  of.hazard('HZ-BP-3', 'Wrong plate, or no longer sterile', {
    situation: 'Two packs look alike in the theatre, or a seal opened on the way.',
    ...{ harm: 'infection, operation cut short', severity: 'S3', probability: { before: 'P2', after: 'P1' } },
  }),
  of.control('RC-BP-1', 'Least strength of each lot', {
    ...{ by: 'design', text: 'A limit on strength, tested on coupons of each build.', characteristic: 'rm' },
    ...{ hazards: ['HZ-BP-1'], shownBy: ['DS-BP-1', 'DS-BP-4'] },
  }),
  of.control('RC-BP-2', 'Limit on the rate, and a pure alloy', {
    ...{ by: 'design', text: 'A limit on the rate of each lot, and on iron, nickel and copper of each heat.' },
    ...{ characteristic: 'rate', hazards: ['HZ-BP-1', 'HZ-BP-2'], shownBy: ['DS-BP-2', 'DS-BP-5'] },
  }),
  of.control('RC-BP-3', 'Peened surface', {
    ...{ by: 'design', text: 'Each layer group is peened, so that the surface is under compression.' },
    ...{ characteristic: 'stress', hazards: ['HZ-BP-1'], shownBy: ['DS-BP-2'] },
  }),
  of.control('RC-BP-4', 'Label with case and side, seal that shows', {
    ...{ by: 'information', text: 'The label names case and side, and an opened seal is seen at once.' },
    ...{ hazards: ['HZ-BP-3'], shownBy: ['DS-BP-7', 'DS-BP-8'] },
  }),
];

const STAGES = {
  inputs: 'inputs',
  studies: 'design and studies',
  transfer: 'transfer to the cell',
  year: 'first year of production',
} as const;

const planAndReviews: readonly Written[] = [
  of.plan(
    'DP-BP',
    'Plan of the bridge plates',
    'A patient-specific plate of a lean magnesium alloy that bridges a fracture and is absorbed. The process engineer designs it, quality approves, regulatory reviews without a part in the design. Each need leads to inputs, each input to an output, and each of them to a study, by their codes.',
    [
      [STAGES.inputs, '2024-11-29'],
      [STAGES.studies, '2025-08-29'],
      [STAGES.transfer, '2025-09-19'],
      [STAGES.year, '2026-11-27'],
    ],
  ),
  of.review('DR-BP-1', 'Needs, inputs and hazards', {
    ...{ stage: STAGES.inputs, on: '2024-11-27', ...REVIEWED },
    reviews: [...refsOf(needsAndInputs, ['user-need', 'design-input']), ...refsOf(risks, ['hazard'])],
    findings: 'The limit on stress had no reason beside it; it has one now (fictional).',
  }),
  of.review('DR-BP-2', 'Design and its studies', {
    ...{ stage: STAGES.studies, on: '2025-08-27', ...REVIEWED },
    reviews: [...refsOf(outputs, ['design-output']), ...refsOf(studies, ['design-study'])],
    findings: 'none',
    actions: [
      {
        what: 'write down where the thinnest section of a plate lies',
        ...{ who: PEOPLE.process, due: '2025-09-12', doneOn: '2025-09-04' },
      },
    ],
  }),
  of.review('DR-BP-3', 'Transfer to the cell', {
    ...{ stage: STAGES.transfer, on: '2025-09-17', ...REVIEWED },
    ...{ reviews: [recipe, spec, ref('process-validation', VALIDATION.validation)], findings: 'none' },
  }),
  of.transfer('DT-BP-1', 'Bridge plates to the first cell', {
    ...{
      to: `hybrid cell ${MACHINE}, laboratory 2`,
      on: '2025-09-17',
      transfers: [recipe, spec],
      shownBy: [VALIDATION],
    },
    text: 'Three operators built two lots each by the recipe alone; all twelve plates met the specification (fictional).',
  }),
];

export const BRIDGE_DESIGN: readonly Written[] = [
  ...needsAndInputs,
  ...outputs,
  ...studies,
  ...risks,
  ...planAndReviews,
];

const FIRST_YEAR = ['L-2025-001', 'L-2025-002', 'L-2025-003', 'L-2026-004', 'L-2026-005', 'L-2026-006'];

/** What the first year showed, from values on record; one thing is left to do. */
export const BRIDGE_YEAR: readonly Written[] = [
  of.study('DS-BP-9', 'Strength over the first six lots', {
    purpose: 'process',
    criterion: { characteristic: 'rm', claim: 'at least', value: '215', ucum: 'MPa', ...ofShare() },
    technique: 'one-sided normal tolerance limit, of the values on record',
    n: 24,
    rationale:
      'Every value of the first six lots, of two heats and five months, two bars of each of two coupons: none was left out, and the factor is that of so many values (fictional).',
    ...{ days: ['2025-10-21', '2026-03-17'], protocolOn: '2025-09-26', reportOn: '2026-04-10', sterilised: 'no' },
    lots: FIRST_YEAR,
    ...shows({ inputs: ['DI-BP-1'], outputs: ['DO-BP-2'] }),
  }),
  of.review('DR-BP-4', 'First year of production', {
    ...{ stage: STAGES.year, on: '2026-11-18', ...REVIEWED },
    reviews: [ref('design-study', 'DS-BP-9'), recipe, spec],
    findings:
      'Strength stands far above its limit in every lot. Wear of the peening needle is not followed (fictional).',
    actions: [
      {
        what: 'say to the operators why the balance was overdue in November',
        ...{ who: PEOPLE.quality, due: '2026-11-27', doneOn: '2026-11-19' },
      },
      {
        what: 'measure the tip of the peening needle after each of the next five builds',
        ...{ who: PEOPLE.process, due: '2027-01-29' },
      },
    ],
  }),
];
