import fs from 'node:fs';
import path from 'node:path';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { ANSWER_FILE, CarriedAnswer } from '../../src/trace/carried-answer.js';
import { pathPicture } from '../../src/trace/path-picture.js';
import { renderAnswer } from '../../src/trace/render-answer.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects } from '../support/pdf-objects.js';
import { SigningCell } from '../support/signing-cell.js';
import { withTool } from '../support/tools.js';

let cell: SigningCell;
const folder = temporaryFolder('answers');

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-06-01T12:00:00Z');
});
afterAll(() => cell.close());

const answers = () => cell.services.answers;
function written(name: string, pdf: Uint8Array): string {
  const file = path.join(folder, name);
  fs.writeFileSync(file, pdf);
  return file;
}
const traced = (id: string) => answers().trace(id, {}, 'local:tester');
const broken = ({ steps }: Awaited<ReturnType<typeof verifyRecord>>) =>
  steps.filter(({ outcome }) => outcome === 'does not hold').map(({ step, code }) => [step, code]);
async function carriedBy(pdf: Buffer): Promise<CarriedAnswer> {
  const { contents } = await openPdf(written('read.pdf', pdf));
  return CarriedAnswer.parse(JSON.parse(Buffer.from(contents.attachments.get(ANSWER_FILE)!).toString()));
}

it('gives out a sealed answer that verifies by itself, and notes that it was given out', async () => {
  const { pdf, sha256, name } = await traced('0417');
  const file = written(name, pdf);
  const key = cell.services.store.key.fingerprint;
  const found = await verifyRecord(file, { key });
  expect(found).toMatchObject({ answer: 'as issued', record: null, paper: { number: 'Trace of 0417' } });
  expect((await verifyRecord(file)).answer).toBe('issuer not compared');
  expect((await verifyRecord(file, { key: 'ab'.repeat(32) })).answer).toBe('another issuer');
  expect((await cell.services.store.read.events.ofTypes(['exported'])).at(-1)!.event).toMatchObject({ sha256 });
});

it('proves that every revision it names stands in the audit trail of the answer', async () => {
  const { told, named, ledger } = await carriedBy((await traced('L-1-I1')).pdf);
  if (told.what !== 'trace') throw new Error('another answer');
  const nodes = told.report.matches.flatMap(({ back, forward }) => [...back!, ...forward!]);
  expect(nodes.length).toBeGreaterThan(20);
  expect(new Set(nodes.filter(({ revision }) => revision > 0).map(({ kind, key }) => `${kind} ${key}`)).size).toBe(
    named.length - 1,
  );
  expect(ledger.proofs.length).toBeLessThanOrEqual(named.length + 1);
});

it.each([
  [
    'a revision that was never recorded',
    (one: CarriedAnswer) => told(one).matches[0]!.back!.find(({ kind }) => kind === 'recipe')!,
    (node: object) => Object.assign(node, { revision: 9 }),
    'not proven',
  ],
  [
    'a head of another audit trail',
    (one: CarriedAnswer) => told(one).head,
    (head: object) => Object.assign(head, { root: 'cd'.repeat(32) }),
    'answer of another audit trail',
  ],
] as const)('does not let %s pass, whoever drew it', async (_, at, spoil, code) => {
  const carried = await carriedBy((await traced('L-1-I1')).pdf);
  spoil(at(carried));
  const found = await verifyRecord(written('forged.pdf', await renderAnswer(carried)));
  expect(found.answer).toBe('altered');
  expect(broken(found)).toEqual([
    ['seal', 'seal removed'],
    ['audit trail', code],
  ]);
});

it('shows a page that was drawn otherwise, and bytes that were changed', async () => {
  const { pdf } = await traced('0417');
  const carried = await carriedBy(pdf);
  told(carried).cannotKnow.pop();
  const other = await renderAnswer(carried);
  expect(broken(await verifyRecord(written('other.pdf', other))).length).toBeGreaterThan(0);
  const spoilt = Buffer.from(pdf);
  spoilt[Math.floor(pdf.length / 2)]! ^= 1;
  expect((await verifyRecord(written('spoilt.pdf', spoilt))).answer).toBe('altered');
});

function told({ told: one }: CarriedAnswer) {
  if (one.what !== 'trace') throw new Error('another answer');
  return one.report;
}

it('reports a drill that was closed, and says drill on every page', async () => {
  const { head } = await cell.services.tracer.trace('0417');
  await cell.services.intake.take(
    [
      {
        file: 'drill.yaml',
        document: {
          ...{ kind: 'recall', format: 1, recall: 'DRILL-1', drill: 'yes', trigger: 'invented', query: '0417' },
          ...{ asOf: { entries: head.size, root: head.root }, expected: ['L-1-I1'], reason: 'invented' },
          ...{ started: '2031-06-01T10:00:00Z', closed: '2031-06-01T11:00:00Z', lessons: 'none' },
          found: [{ implant: 'L-1-I1', place: 'in stock', at: '2031-06-01T10:30:00Z' }],
        },
      },
    ],
    'local:tester',
  );
  const { pdf, name } = await answers().recall('DRILL-1', 'local:tester');
  expect(name).toBe('recall-DRILL-1-r1.pdf');
  const found = await verifyRecord(written(name, pdf), { key: cell.services.store.key.fingerprint });
  expect(found).toMatchObject({ answer: 'as issued', paper: { number: 'DRILL-1' } });
  const { told: drill } = await carriedBy(pdf);
  expect(drill).toMatchObject({ what: 'recall', report: { reconciled: '1 of 1 found, 100 %', drill: true } });
});

it('tells what an earlier revision was tied to as earlier, and goes no further from it', async () => {
  const drill = (await cell.services.store.read.entries.currentOrThrow('recall', 'DRILL-1')).body;
  const document = {
    ...drill,
    query: 'L-1-I2',
    expected: ['L-1-I2'],
    found: [{ ...drill.found![0]!, implant: 'L-1-I2' }],
  };
  await cell.services.intake.take([{ file: 'drill.yaml', document }], 'local:tester');
  const { matches } = await cell.services.tracer.trace('L-1-I1');
  const { forward, earlier, entry } = matches[0]!;
  expect(forward!.filter(({ kind }) => kind === 'recall')).toEqual([]);
  expect(earlier).toEqual([
    expect.objectContaining({
      kind: 'recall',
      key: 'DRILL-1',
      direction: 'forward',
      via: expect.stringContaining('earlier, revision 1'),
    }),
  ]);
  const groups = pathPicture(entry, forward!, earlier);
  expect(groups.flatMap(({ nodes }) => nodes).find(({ key }) => key === 'DRILL-1')).toMatchObject({
    ...{ earlier: true, groups: [] },
  });
});

withTool('qpdf', 'answers on paper', () => {
  it('keep the rules of tagged archive files, sealed', async () => {
    expect(checkPdf(PdfObjects.read((await traced('P-RE')).pdf))).toEqual([]);
  });
});
