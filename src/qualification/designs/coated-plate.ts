import { gapId } from '../../design-history/find-gaps.js';
import type { DesignChange } from '../../kinds/design-history/design-change.js';
import { type Document, PEOPLE } from '../names.js';
import {
  COATED_ENVELOPE,
  COATED_FAMILY,
  COATED_RECIPE,
  COATED_SPECIFICATION,
  COATED_VALIDATION,
  DESIGN_PROGRAM,
  SECOND_MACHINE,
} from '../stories/names.js';
import { WORST_COUPONS, WORST_LOT, WORST_PLATES } from './worst-case-lot.js';
import { designOf, ofShare, ref, refsOf, revised, shows, type Written } from './written.js';

/** The design history of the coated plates, brought in before their first lot. */

const of = designOf(COATED_FAMILY);
const spec = ref('specification', COATED_SPECIFICATION.specification);
const recipe = ref('recipe', COATED_RECIPE.recipe);
const envelope = (revision: number) => ref('design-envelope', COATED_ENVELOPE.envelope, revision);
const REVIEWED = { participants: [PEOPLE.process, PEOPLE.quality, PEOPLE.release], independent: PEOPLE.release };

const needsAndInputs: readonly Written[] = [
  of.need(
    'UN-CP-1',
    'Holds until the bone carries, from the shelf too',
    'Any plate that is planned within the envelope holds the fracture for twelve weeks, however long its pack lay on the shelf.',
    'nine surgeons asked in 2025, report UR-7 (fictional)',
  ),
  of.need(
    'UN-CP-2',
    'Is gone without a second operation',
    'Plate and coating are absorbed, and at no time give off more than the body around them clears.',
    'nine surgeons asked in 2025, report UR-7 (fictional)',
  ),
  of.need(
    'UN-CP-3',
    'Fits the bone it was planned on',
    'The plate lies on the bone of the images without being bent.',
    'nine surgeons asked in 2025, report UR-7 (fictional)',
  ),
  of.need(
    'UN-CP-4',
    'Goes in with the coating whole',
    'Forceps and gloves leave the coating whole while the plate is placed.',
    'two theatre nurses asked in 2025, report UR-8 (fictional)',
  ),
  of.input(
    'DI-CP-1',
    'Strength after sterilisation and shelf life',
    'Tensile strength of at least 215 MPa, of sterilised plates at the end of their shelf life as well.',
    { source: 'UN-CP-1, and the load case of report CALC-4 (fictional)', needs: ['UN-CP-1'], seenBy: ['rm'] },
  ),
  of.input('DI-CP-2', 'Rate of degradation', 'At most 0.45 mm in a year on the bench, with the coating gone.', {
    source: 'UN-CP-1, UN-CP-2: nothing may rest on the coating',
    needs: ['UN-CP-1', 'UN-CP-2'],
    seenBy: ['rate'],
  }),
  of.input('DI-CP-3', 'Coating that stays', 'Coating of 4 to 12 µm on every face, whole after it was handled.', {
    ...{ source: 'UN-CP-2, UN-CP-4', needs: ['UN-CP-2', 'UN-CP-4'], seenBy: ['coat'] },
  }),
  of.input('DI-CP-4', 'Thin and smooth', 'Plate of 1.45 to 1.55 mm; roughness Sa of the upper face of at most 6 µm.', {
    ...{ source: 'UN-CP-3', needs: ['UN-CP-3'], seenBy: ['thickness', 'sa'] },
  }),
  of.input('DI-CP-5', 'Planned within bounds', 'Length, width, site and age of the images within the envelope.', {
    ...{ source: 'UN-CP-3, and hazard HZ-CP-1', needs: ['UN-CP-3'] },
  }),
  of.input('DI-CP-6', 'Sterile for one year', 'Sterile until the pack is opened, for one year.', {
    ...{ source: 'UN-CP-1', needs: ['UN-CP-1'] },
  }),
];

const envelopeOutput = of.output(
  'DO-CP-1',
  'What may differ from plate to plate',
  envelope(1),
  ['DI-CP-5'],
  'each design is held against the envelope before it is built',
);

const outputs: readonly Written[] = [
  envelopeOutput,
  of.output(
    'DO-CP-2',
    'Limits of each lot',
    spec,
    ['DI-CP-1', 'DI-CP-2', 'DI-CP-3', 'DI-CP-4', 'DI-CP-6'],
    'each lot is judged by the specification',
  ),
  of.output(
    'DO-CP-3',
    'How a plate is built, peened and milled',
    recipe,
    ['DI-CP-1', 'DI-CP-4'],
    'each build follows the recipe within its windows',
  ),
  of.output(
    'DO-CP-4',
    'Program that plans the plate on the images',
    ref('software', DESIGN_PROGRAM.software),
    ['DI-CP-5'],
    'the version that ran is the one that was validated',
  ),
  of.output('DO-CP-5', 'Label', ref('labelling-decision', 'LD-CP-1'), ['DI-CP-6'], 'each label is read by a scanner'),
  of.labelling('LD-CP-1', 'Label with case, side and expiry', {
    ...{ about: 'label', laws: ['EU', 'US'] },
    decision:
      'The label names case, side, serial and expiry, in words and as a code. No card goes with a plate (fictional).',
    why: 'Custom-made devices carry no UDI under the law EU, and plates are exempt from the card (Regulation (EU) 2017/745, articles 18 and 27).',
  }),
];

const AGED = '37 days at 55 °C in their packs, for one year at 22 °C (fictional)';

const worstCase = of.study('DS-CP-1', 'The weakest plate of all, sterilised and aged', {
  purpose: 'validation',
  criterion: { characteristic: 'rm', claim: 'at least', value: '215', ucum: 'MPa', ...ofShare() },
  technique: 'one-sided normal tolerance limit',
  n: WORST_COUPONS.length,
  rationale:
    'The longest and narrowest plate of the envelope carries the highest stress, and cools slowest while it is built: no other is weaker. Ten bars of three such plates and their coupons, coated, packed, sterilised at the highest dose and aged: with ten, the lower limit lies 2.9 standard deviations below the mean, and the nine builds before had 2.4 MPa (fictional).',
  ...{ days: ['2026-08-24', '2026-08-24'], protocolOn: '2026-06-26', reportOn: '2026-08-26' },
  ...{ lots: [WORST_LOT], coupons: WORST_COUPONS, sterilised: 'yes', aged: AGED },
  ...shows({ inputs: ['DI-CP-1'], needs: ['UN-CP-1'] }),
  worstCaseOf: [{ envelope: COATED_ENVELOPE.envelope, revision: 1 }],
});

/** The lot of bridge plates of which the rate is taken, until the coated plates have their own. */
const RATE_LOT = 'L-2026-011';

const studies: readonly Written[] = [
  worstCase,
  of.study('DS-CP-2', 'Coating of plates that were sterilised and aged', {
    purpose: 'verification',
    criterion: { characteristic: 'coat', claim: 'within', value: '4', upTo: '12', ucum: 'um' },
    technique: 'each value',
    n: WORST_PLATES.length,
    rationale:
      'Three plates of the largest face, each measured where the coating is thinnest of fifteen places by report CT-7: what is thick enough there is so everywhere (fictional).',
    ...{ days: ['2026-08-24', '2026-08-24'], protocolOn: '2026-06-26', reportOn: '2026-08-26' },
    ...{ implants: WORST_PLATES, sterilised: 'yes', aged: AGED },
    ...shows({ inputs: ['DI-CP-3'] }),
  }),
  of.study('DS-CP-3', 'Rate without the coating', {
    purpose: 'verification',
    criterion: { characteristic: 'rate', claim: 'at most', value: '0.45', ucum: 'mm/a' },
    technique: 'each value',
    n: 4,
    rationale:
      'Four discs of two coupons of a bridge plate, of the same alloy and recipe and without coating: a coating can only begin it later, so that no coated plate loses more in a year (fictional).',
    ...{ days: ['2026-07-21', '2026-08-04'], protocolOn: '2026-07-03', reportOn: '2026-08-18', sterilised: 'no' },
    lots: [RATE_LOT],
    ...shows({ inputs: ['DI-CP-2'] }),
  }),
  of.study('DS-CP-4', 'Plates as built on the second cell', {
    purpose: 'process',
    criterion: {
      ...{ characteristic: 'thickness', claim: 'within', value: '1.45', upTo: '1.55', ucum: 'mm', by: 'zero failures' },
      ...ofShare('0.90'),
    },
    technique: 'number of plates of which none may fail',
    n: 29,
    rationale:
      'With 29 plates of which none fails, 90 % of all plates are shown to conform with a confidence of 95 %; they are of five builds and of every place on the plate (fictional).',
    ...{ days: ['2026-05-04', '2026-06-12'], protocolOn: '2026-04-24', reportOn: '2026-06-26', sterilised: 'no' },
    reportSays: 'Invented report: 29 plates from 1.476 to 1.527 mm, none above Sa 4.8 µm.',
    ...shows({ inputs: ['DI-CP-4'], outputs: ['DO-CP-3'] }),
  }),
  of.study('DS-CP-5', 'Biological evaluation with the coating', {
    purpose: 'biological',
    criterion: { characteristic: 'viability', claim: 'at least', value: '70', ucum: '%' },
    technique: 'each value, as ISO 10993-5 asks; evaluation of all end points by ISO 10993-1',
    n: 6,
    rationale:
      'Six extracts of plates with the thickest coating that the limits let pass, since what could be given off is most there; the metal below was judged with the bridge plates (fictional).',
    ...{ days: ['2026-04-06', '2026-06-26'], protocolOn: '2026-03-27', reportOn: '2026-07-17', sterilised: 'yes' },
    reportSays: 'Invented report: viability from 81 to 96 %; no end point is left open in the biological evaluation.',
    ...shows({ inputs: ['DI-CP-3'], needs: ['UN-CP-2'] }),
  }),
  of.study('DS-CP-6', 'Sterilisation by gamma rays', {
    purpose: 'sterilisation',
    criterion: { characteristic: 'dose', claim: 'within', value: '25', upTo: '32', ucum: 'kGy' },
    technique: 'each value of a dose map; 25 kGy substantiated as ISO 11137-2 lets it',
    n: 9,
    rationale:
      'Nine dosimeters at the places of least and most dose of a full box; a full box is the worst case, since a box of few packs shields less (fictional).',
    ...{ days: ['2026-06-15', '2026-06-17'], protocolOn: '2026-06-05', reportOn: '2026-07-10', sterilised: 'yes' },
    reportSays: 'Invented report: from 26.2 to 30.5 kGy; the sterility tests of the substantiation found no growth.',
    ...shows({ inputs: ['DI-CP-6'] }),
  }),
  of.study('DS-CP-7', 'Packs after a year', {
    purpose: 'shelf life',
    criterion: { characteristic: 'peel', claim: 'at least', value: '1.2', ucum: 'N', ...ofShare('0.90') },
    technique: 'one-sided normal tolerance limit; each pack by dye as well',
    n: 30,
    rationale:
      'Thirty packs of three sealing runs at the coldest, the middle and the hottest seal that are allowed, sent through the post before they were aged: what follows then is milder (fictional).',
    ...{ days: ['2026-06-22', '2026-08-07'], protocolOn: '2026-06-12', reportOn: '2026-08-14' },
    ...{ sterilised: 'yes', aged: AGED },
    reportSays:
      'Invented report: 30 seals, mean 2.2 N, standard deviation 0.22 N; no pack leaked. Ageing by ASTM F1980.',
    ...shows({ outputs: ['DO-CP-5'] }),
  }),
  of.study('DS-CP-8', 'Plates on printed bones', {
    purpose: 'usability',
    criterion: { characteristic: 'gap', claim: 'at most', value: '0.5', ucum: 'mm' },
    technique: 'each value: widest gap between plate and bone',
    n: 12,
    rationale:
      'Twelve plates on bones that were printed from the images of twelve patients, four for each site of the envelope, the longest and the shortest plate among them (fictional).',
    ...{ days: ['2026-07-06', '2026-07-24'], protocolOn: '2026-06-26', reportOn: '2026-08-07', sterilised: 'yes' },
    reportSays: 'Invented report: widest gap from 0.11 to 0.38 mm; no plate was bent to make it fit.',
    ...shows({ inputs: ['DI-CP-5'], needs: ['UN-CP-3'] }),
  }),
  of.study('DS-CP-9', 'Plates placed by theatre teams', {
    purpose: 'usability',
    criterion: { characteristic: 'scratch', claim: 'at most', value: '0', ucum: '1' },
    technique: 'each plate under the microscope, after a team placed it with its own forceps (IEC 62366-1)',
    n: 15,
    rationale:
      'Fifteen teams of five clinics, each with the forceps it has: with fifteen, nearly every trouble that one team in five has is seen once (fictional).',
    ...{ days: ['2026-12-07', '2027-01-22'], protocolOn: '2026-08-21', sterilised: 'yes' },
    ...shows({ needs: ['UN-CP-4'] }),
  }),
];

const strengthControl = of.control('RC-CP-1', 'Least strength, and bounds on length and width', {
  ...{ by: 'design', text: 'A limit on strength in each lot, and an envelope of which the worst case was tested.' },
  ...{ characteristic: 'rm', hazards: ['HZ-CP-1'], shownBy: ['DS-CP-1'] },
});

const risks: readonly Written[] = [
  of.hazard('HZ-CP-1', 'Plate breaks before the bone carries', {
    situation: 'A long, narrow plate is planned, or it grew weaker on the shelf.',
    ...{ harm: 'second operation, pain', severity: 'S3', probability: { before: 'P3', after: 'P1' } },
  }),
  of.hazard('HZ-CP-2', 'Coating comes off in flakes', {
    situation: 'The coating is too thick, or is scratched while the plate is placed.',
    ...{ harm: 'inflammation; the metal below degrades in one spot', severity: 'S2' },
    probability: { before: 'P3', after: 'P2' },
  }),
  of.hazard('HZ-CP-3', 'No longer sterile', {
    ...{ situation: 'A seal opened on the way, or its year is over.', harm: 'infection', severity: 'S3' },
    probability: { before: 'P2', after: 'P1' },
  }),
  strengthControl,
  of.control('RC-CP-2', 'Coating within limits on every plate', {
    ...{ by: 'design', text: 'The thickness of the coating is measured on each plate.', characteristic: 'coat' },
    ...{ hazards: ['HZ-CP-2'], shownBy: ['DS-CP-2', 'DS-CP-5'] },
  }),
  of.control('RC-CP-3', 'Seal that shows, and an expiry on the label', {
    ...{
      by: 'information',
      text: 'An opened seal is seen at once, and the label says until when the plate may be used.',
    },
    ...{ hazards: ['HZ-CP-3'], shownBy: ['DS-CP-6', 'DS-CP-7'] },
  }),
];

const STAGES = {
  inputs: 'inputs',
  studies: 'design and studies',
  transfer: 'transfer to the second cell',
  lots: 'first lots',
} as const;

const planAndReviews: readonly Written[] = [
  of.plan(
    'DP-CP',
    'Plan of the coated plates',
    'The bridge plate, with a coating that lets it begin to degrade later, planned on the images of each patient. The process engineer designs it, quality approves, regulatory reviews without a part in the design. Each need leads to inputs, each input to an output, and each of them to a study, by their codes.',
    [
      [STAGES.inputs, '2026-02-27'],
      [STAGES.studies, '2026-08-28'],
      [STAGES.transfer, '2026-08-31'],
      [STAGES.lots, '2026-11-27'],
    ],
  ),
  of.review('DR-CP-1', 'Needs, inputs and hazards', {
    ...{ stage: STAGES.inputs, on: '2026-02-25', ...REVIEWED, findings: 'none' },
    reviews: [...refsOf(needsAndInputs, ['user-need', 'design-input']), ...refsOf(risks, ['hazard'])],
  }),
  of.review('DR-CP-2', 'Design and its studies', {
    ...{ stage: STAGES.studies, on: '2026-08-27', ...REVIEWED },
    reviews: [...refsOf(outputs, ['design-output']), ...refsOf(studies, ['design-study'])],
    findings:
      'The envelope does not name its worst case yet: to be mended once the first lots are through. Placing by theatre teams runs until January 2027 (fictional).',
  }),
  of.review('DR-CP-3', 'Transfer to the second cell', {
    ...{ stage: STAGES.transfer, on: '2026-08-31', ...REVIEWED, findings: 'none' },
    reviews: [recipe, spec, ref('process-validation', COATED_VALIDATION.validation)],
  }),
  of.transfer('DT-CP-1', 'Coated plates to the second cell', {
    ...{ to: `hybrid cell ${SECOND_MACHINE}, laboratory 3`, on: '2026-08-31', transfers: [recipe, spec, envelope(1)] },
    shownBy: [COATED_VALIDATION],
    text: 'Two operators built, coated and packed a lot by the documents alone; it met the specification (fictional).',
  }),
];

const OTHER_FAMILY = [
  { kind: 'design-study', key: 'DS-CP-3' },
  { kind: 'lot', key: RATE_LOT },
] as const;

/** Why the rate of another family may speak for this one for a while. */
const answer: Written = [
  'answer-rate',
  {
    ...{ kind: 'gap-answer', format: 1, gap: gapId('study-other-family', OTHER_FAMILY, null) },
    ...{ rule: 'study-other-family', subjects: OTHER_FAMILY },
    justification:
      'Alloy, recipe and surface are those of the bridge plate, and the coating can only let it begin later. Each lot of coated plates gives rates of its own within ninety days of its release; they take the place of this one (fictional).',
    until: '2027-02-26',
    given: { by: PEOPLE.process, at: '2026-08-31T14:00:00Z' },
  },
];

export const COATED_DESIGN: readonly Written[] = [
  ...needsAndInputs,
  ...outputs,
  ...studies,
  ...risks,
  ...planAndReviews,
  answer,
];

/** The change after the first lots, as it was asked for. */
export const ENVELOPE_CHANGE = of.change('DC-CP-1', 'Envelope that names its worst case, and ends at 4.5 mm of width', {
  what: 'The narrowest plate has 4.5 mm instead of 4 mm, and the envelope names the plate that was tested as its worst case.',
  why: 'Review DR-CP-2 asked for the worst case; no surgeon has asked for a plate below 5 mm (fictional).',
  ...{ changes: [envelope(1)], decision: 'open' },
  risksAgain: 'HZ-CP-1 grows less likely, since the tested plate is narrower than any that may be planned now.',
});

type Touches = NonNullable<DesignChange['touches']>;

/** What follows for what it touches. */
const ANSWERS: Readonly<Record<Touches['lines'][number]['sort'], string>> = {
  lot: 'nothing follows: no plate of it is below 6 mm wide, but for those of the study',
  entry: 'it holds as it is, or names the second envelope from now on',
  study: 'what was tested is narrower than what may be planned now, so it holds',
  risk: 'looked at again: the harm grows less likely, and its class stays',
  statement: 'nothing follows: no limit changes',
  'to be told': 'told by letter of 2026-11-19 that plates below 4.5 mm are planned no more',
};

/** The change as it was decided, with the list of what it touches and an answer to each line. */
export const envelopeChangeDecided = ({ lines, ...touches }: Touches): Written =>
  revised(ENVELOPE_CHANGE, 2, {
    touches: { ...touches, lines: lines.map((line) => ({ ...line, answer: ANSWERS[line.sort] })) },
    ...{ leadsTo: [envelope(2)], decision: 'go' },
  });

/** What it led to, each with what names it. */
export const afterEnvelopeChange = (envelopeBefore: Document): readonly Written[] => [
  [
    'CP-ENV-2',
    {
      ...envelopeBefore,
      revision: 2,
      parameters: [
        {
          ...bounds('length', '18', '60'),
          worstCases: [{ value: '60', study: { designStudy: 'DS-CP-1', revision: 2 } }],
        },
        {
          ...bounds('width', '4.5', '9'),
          worstCases: [{ value: '4', study: { designStudy: 'DS-CP-1', revision: 2 } }],
        },
      ],
      effectiveFrom: '2026-11-30T00:00:00Z',
    },
  ],
  revised(envelopeOutput, 2, { what: envelope(2) }),
  revised(worstCase, 2, {
    worstCaseOf: [{ envelope: COATED_ENVELOPE.envelope, revision: 2 }],
    deviations: 'none; it holds for the second envelope, of which every plate is wider than what was tested',
  }),
  revised(strengthControl, 2, { verifiedBy: [{ designStudy: 'DS-CP-1', revision: 2 }] }),
  of.review('DR-CP-4', 'First lots, and the change of the envelope', {
    ...{ stage: STAGES.lots, on: '2026-11-19', ...REVIEWED, findings: 'none' },
    reviews: [ref('design-change', 'DC-CP-1', 2), envelope(2), ref('design-study', 'DS-CP-1', 2)],
  }),
];

const bounds = (parameter: string, min: string, max: string): Document => ({ parameter, ucum: 'mm', min, max });
