import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { addLot, type Cell, logText, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { load } from '../support/documents/loads.js';
import { openServices, type Services } from '../support/services.js';

/** What the case and what comes after the build may not say: nothing of such a folder is stored. */
let services: Services;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
});
afterAll(() => services.store.close());

const LOT = 'lots/L-1/lot.yaml';

function cellWith(change: (cell: Cell) => void): Cell {
  const cell = makeCell();
  change(cell);
  return cell;
}

const check = (cell: Cell) => services.intake.run(writeCell(cell), 'local:tester', { check: true });

async function problemsOf(change: (cell: Cell) => void): Promise<readonly Problem[]> {
  const error = await check(cellWith(change)).catch((caught: unknown) => caught);
  expect(error).toBeInstanceOf(BadInputError);
  return (error as BadInputError).problems;
}

const move = (more: object) => ({
  ...{ kind: 'unit-move', format: 1, move: 'MV-1', fromLot: 'L-1', toLot: 'L-2', implants: ['L-1-I2'] },
  ...{ why: 'waits for a further test', by: 'P-QE', at: '2031-03-04T09:00:00+01:00', ...more },
});

function withSecondLot(cell: Cell): void {
  addLot(cell, 'L-2', 102, '2031-03-03', { rm: 230, thickness: 1.5 });
  cell.files['lots/L-2/logs/run.csv'] = logText('2031-03-03', () => 8.5);
}

/** Units go on in a lot of their own, which has no build. */
function withChild(cell: Cell): void {
  const { lot, family, specification, opened } = cell.documents[LOT]!;
  cell.documents['lots/L-2/lot.yaml'] = {
    ...{ kind: 'lot', format: 1, lot: 'L-2', family, specification, opened, splitFrom: lot },
  };
  cell.documents['moves/MV-1.yaml'] = move({});
}

const DICOM = `${'\0'.repeat(128)}DICM and the name of somebody`;

/** Files of clinics, by what they begin with. */
const OF_PATIENTS: readonly (readonly [what: string, text: string])[] = [
  ['image in DICOM', DICOM],
  ['image in NIfTI', `${'\0'.repeat(344)}n+1\0`],
  ['image in NRRD', 'NRRD0004\ntype: short\n'],
  ['message in HL7', 'MSH|^~\\&|CLINIC|A|||20310301||ADT^A01|1|P|2.5\rPID|1||4711\r'],
  ['clinical document (CDA)', '<?xml version="1.0"?>\n<ClinicalDocument xmlns="urn:hl7-org:v3">\n'],
  ['resource of FHIR', '{\n  "resourceType": "Patient",\n  "id": "1"\n}\n'],
];

const REFUSED: readonly (readonly [what: string, change: (cell: Cell) => void, problem: object])[] = [
  [
    'a load that names a part of no lot',
    (cell) => {
      cell.documents['loads/CL-1.yaml'] = { ...load('CL-1', 'clean', '03', ['14:00', '14:30']), implants: ['L-9-I1'] };
    },
    { file: 'loads/CL-1.yaml', field: 'implants[0]', found: expect.stringContaining('L-9-I1') },
  ],
  [
    'a step that names a load which is not there',
    ({ documents }) => {
      documents[LOT]!.steps = [{ step: 'clean', at: '2031-03-03T14:30:00+01:00', by: 'P-OP', load: 'CL-9' }];
    },
    { file: LOT, field: 'steps[0].load', found: expect.stringContaining('CL-9') },
  ],
  [
    'an iteration that was accepted and never designed',
    (cell) => {
      addDesigns(cell);
      cell.documents['site/cases/K-101-1-acceptance.yaml']!.iteration = 2;
    },
    { file: 'site/cases/K-101-1-acceptance.yaml', found: expect.stringContaining('K-101-1 revision 2') },
  ],
  [
    'a move to a lot of another family',
    (cell) => {
      withSecondLot(cell);
      cell.documents['lots/L-2/lot.yaml']!.family = 'SCREW';
      cell.documents['moves/MV-1.yaml'] = move({});
    },
    { code: 'move-to-another-family', file: 'moves/MV-1.yaml', field: 'toLot' },
  ],
  [
    'a move of what was never in the lot',
    (cell) => {
      withSecondLot(cell);
      cell.documents['moves/MV-1.yaml'] = move({ implants: ['L-2-I1'], coupons: ['L-2-W1'] });
    },
    { code: 'move-from-another-lot', field: 'coupons[0]', found: expect.stringContaining('L-2-W1') },
  ],
  [
    'a move to a lot with builds of its own',
    (cell) => {
      withSecondLot(cell);
      cell.documents['moves/MV-1.yaml'] = move({});
    },
    { code: 'move-to-another-build', file: 'moves/MV-1.yaml', field: 'toLot' },
  ],
  [
    'a move to a lot that is judged by other limits',
    (cell) => {
      withChild(cell);
      cell.documents['lots/L-2/lot.yaml']!.specification = { specification: 'SP', revision: 2 };
    },
    { code: 'move-to-other-limits', field: 'toLot' },
  ],
  [
    'a move before the build was opened',
    (cell) => {
      withChild(cell);
      cell.documents['moves/MV-1.yaml']!.at = '2031-03-03T08:01:00+01:00';
    },
    { code: 'move-before-build', field: 'at' },
  ],
  [
    'a move of what was used up',
    (cell) => {
      withChild(cell);
      cell.documents[LOT]!.fates = [{ part: 'L-1-I2', as: 'scrapped', at: '2031-03-04T08:00:00+01:00', by: 'P-OP' }];
    },
    { code: 'unit-not-free', field: 'implants[0]', found: 'L-1-I2, scrapped in lot L-1' },
  ],
  [
    'a move of a coupon away from the implants that it stands for',
    (cell) => {
      withChild(cell);
      cell.documents['moves/MV-1.yaml']!.coupons = ['L-1-W1'];
    },
    { code: 'coupon-without-unit', field: 'coupons[0]' },
  ],
  [
    'a lot without a build that is split from none',
    (cell) => {
      withChild(cell);
      delete cell.documents['lots/L-2/lot.yaml']!.splitFrom;
    },
    { code: 'contradiction', field: 'builds' },
  ],
  [
    'a lot with builds of its own that is split from another',
    (cell) => {
      withSecondLot(cell);
      cell.documents['lots/L-2/lot.yaml']!.splitFrom = 'L-1';
    },
    { code: 'contradiction', field: 'builds' },
  ],
  ...OF_PATIENTS.map(([what, text]): (typeof REFUSED)[number] => [
    `${what} of a patient that is not said to be personal data`,
    ({ documents, files }) => {
      documents[LOT]!.attachments = [{ file: 'of-somebody', title: 'sent by the clinic' }];
      files['lots/L-1/of-somebody'] = text;
    },
    { code: 'patient-not-kept-apart', file: LOT, field: 'attachments[0].file', found: expect.stringContaining(what) },
  ]),
  [
    'a permission that ends before it begins',
    (cell) => {
      addDesigns(cell);
      Object.assign(cell.documents['site/route/permission.yaml']!, { from: '2031-01-01', to: '2030-12-31' });
    },
    { file: 'site/route/permission.yaml', field: 'to', expected: 'a day after 2031-01-01' },
  ],
];

it.each(REFUSED)('refuses %s, and says where', async (_, change, problem) => {
  expect(await problemsOf(change)).toContainEqual(expect.objectContaining(problem));
});

it('takes images of a patient that are kept apart, and a move to a lot that is split from the one of the build', async () => {
  const cell = cellWith((one) => {
    withChild(one);
    one.documents[LOT]!.attachments = [{ file: 'scan.dcm', title: 'scan', personalData: true }];
    one.files['lots/L-1/scan.dcm'] = DICOM;
  });
  expect((await check(cell)).unusedFiles).toEqual([]);
});
