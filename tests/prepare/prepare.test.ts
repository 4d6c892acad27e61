import fs from 'node:fs';
import path from 'node:path';
import { basisFor } from '../../src/prepare/basis.js';
import { LotPreparer, type WrittenLot } from '../../src/prepare/lot-preparer.js';
import type { Reads } from '../../src/store/repositories.js';
import { temporaryFolder } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { runCommand } from '../support/run-command.js';
import { SigningCell } from '../support/signing-cell.js';

const CASE = 'K-101-1';

const NOW = '2031-03-05T12:00:00.000Z';

let cell: SigningCell;
let preparer: LotPreparer;
beforeAll(async () => {
  cell = await SigningCell.open((what) => addDesigns(what, 'L-1', null));
  preparer = new LotPreparer(cell.services.store);
});
afterAll(() => cell.close());

const inside = ({ folder }: WrittenLot, file: string) => path.join(folder, file);

/** Fills in empty values, as somebody would who has the file before them. */
function fill(written: WrittenLot, file: string, values: readonly (readonly [empty: RegExp, filled: string])[]): void {
  let text = fs.readFileSync(inside(written, file), 'utf8');
  for (const [empty, filled] of values) {
    expect(text).toMatch(empty);
    text = text.replaceAll(new RegExp(empty, 'gm'), filled);
  }
  fs.writeFileSync(inside(written, file), text);
}

const PLAN = [
  [/^( +by:) #.*$/m, '$1 P-QE'],
  [/^( +closedAt:) #.*$/m, '$1 2031-03-06T08:00:00+01:00'],
  [/^( +openedAt:) #.*$/m, '$1 2031-03-06T08:02:00+01:00'],
  [/^( +operator:) #.*$/m, '$1 P-OP'],
  [/^( +- state:) # powder.*$/m, '$1 PS-1'],
  [/^( +chargedG:) #.*$/m, '$1 90'],
] as const;

it('writes a lot that is taken in as a plan, and again once its values are filled in', async () => {
  const written = await preparer.prepare(CASE, path.join(temporaryFolder('prepare'), 'lot'));
  expect(written).toMatchObject({ lot: `L-${CASE}-1`, serial: `${CASE}-1` });
  expect(fs.readFileSync(inside(written, 'results/coupons.csv'), 'utf8')).toMatch(
    new RegExp(`\n${CASE}-1-C1,,rm,1,,MPa,,,,,,TM-T,1,,,\n${CASE}-1-C1,,rm,2,,MPa`),
  );
  expect(fs.readFileSync(inside(written, 'build-sheet.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
  const { intake, assessor, store } = cell.services;
  fill(written, 'lot.yaml', PLAN);
  const planned = await intake.run(written.folder, 'local:tester');
  expect([planned.results, planned.unusedFiles]).toMatchObject([
    { recorded: 0 },
    expect.arrayContaining(['results/coupons.csv']),
  ]);

  cell.folder.advanceTo('2031-03-09T12:00:00Z');
  const done = `at: 2031-03-07T10:00:00+01:00, by: P-OP }`;
  fill(written, 'lot.yaml', [
    [/^( {2}- )state: planned.*\n +(build:)/m, '$1$2'],
    [/^#(.*)at: , by: \}$/m, `#$1${done}`],
    [/^#(?=steps|fates| {2}-)/m, ''],
  ]);
  const measured = (instrument: string, value: string) => `${value},$1,,,2031-03-08T09:00:00+01:00,${instrument},P-AN,`;
  fill(written, 'results/coupons.csv', [[/(?<=,),(MPa),,,,,,/m, measured('I-RIG', '231.4')]]);
  fill(written, 'results/implants.csv', [
    [/(?<=,),(mm),,,,,,/m, `1.502,$1,0.004,,2031-03-08T09:00:00+01:00,I-MIC,P-AN,`],
  ]);
  fs.appendFileSync(inside(written, 'lot.yaml'), 'reason: built and measured (invented)\n');
  await intake.run(written.folder, 'local:tester');
  expect(await store.read.results.current(written.lot)).toHaveLength(3);
  const { assessment, facts } = await assessor.assess(written.lot, 'local:tester');
  expect(assessment.characteristics.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
  expect(facts.lot.body).toMatchObject({
    steps: [{ step: 'clean' }, { step: 'pack' }],
    fates: [{ part: `${CASE}-1-C1`, as: 'tested' }],
  });
});

it('takes the next free codes, and writes over nothing', async () => {
  const again = path.join(temporaryFolder('prepare'), 'lot');
  expect(await preparer.prepare(CASE, again)).toMatchObject({ lot: `L-${CASE}-1-2`, serial: `${CASE}-1-2` });
  await expect(preparer.prepare(CASE, again)).rejects.toThrow(/is there already: nothing is written over it/);
});

/** The store with the documents of one kind changed, or gone. */
function withChanged(kind: string, change: (body: Record<string, unknown>) => object | undefined): Reads {
  const changed = (asked: string, found: unknown): unknown => {
    if (asked !== kind || !found) return found;
    const body = change((found as { body: Record<string, unknown> }).body);
    return body && { ...found, body };
  };
  const { entries, ...others } = cell.services.store.read;
  const ask =
    (name: string) =>
    async (asked: string, ...more: unknown[]) => {
      const found = await (entries as never as Record<string, (...words: unknown[]) => Promise<unknown>>)[name]!(
        asked,
        ...more,
      );
      return Array.isArray(found) ? found.map((one) => changed(asked, one)).filter(Boolean) : changed(asked, found);
    };
  const asks = ['current', 'currentOrThrow', 'revision', 'allRevisions'].map((name) => [name, ask(name)]);
  const evidenceNamedBy = entries.evidenceNamedBy.bind(entries);
  return { ...others, entries: { ...Object.fromEntries(asks), evidenceNamedBy } } as never;
}

const later = (body: object) => ({ ...body, effectiveFrom: '2031-06-01T00:00:00+01:00' });
it.each<[string, string, Parameters<typeof withChanged>[1], RegExp]>([
  [
    'a cancelled case',
    'case',
    (body) => ({ ...body, status: { is: 'cancelled', by: 'P-QE', at: '2031-03-01T10:00:00+01:00' } }),
    /case K-101-1 was cancelled on/,
  ],
  ['a case without its design', 'case-design', () => undefined, /asks for design iteration 1, and there is none/],
  ['a design that nobody accepted', 'design-acceptance', () => undefined, /nobody accepted iteration 1/],
  [
    'an acceptance of another model',
    'design-acceptance',
    (body) => ({ ...body, model: 'ab'.repeat(32) }),
    /names another model than the design/,
  ],
  ['a recipe that is not there', 'recipe', () => undefined, /names recipe RC rev 2, and there is none/],
  ['a recipe that is not effective yet', 'recipe', later, /recipe RC rev 2 is not in force/],
  ['a family without a specification in force', 'specification', later, /has no specification in force/],
])('refuses %s', async (_, kind, change, says) => {
  await expect(basisFor(withChanged(kind, change), CASE, NOW)).rejects.toMatchObject({
    code: 'REFUSED',
    message: expect.stringMatching(says),
  });
});

it('asks for a signature on the recipe, and for one that was not withdrawn', async () => {
  const { read } = cell.services.store;
  const others = { entries: read.entries, events: read.events };
  const unsigned = { ...others, signatures: { of: async () => [] } } as never as Reads;
  await expect(basisFor(unsigned, CASE, NOW)).rejects.toThrow(/not approved/);
  const [event] = [{ event: { type: 'document-withdrawn', revision: 2 } }];
  const withdrawn = { ...others, signatures: read.signatures, events: { of: async () => [event] } } as never as Reads;
  await expect(basisFor(withdrawn, CASE, NOW)).rejects.toThrow(/withdrawn/);
  expect(await basisFor(read, CASE, NOW)).toMatchObject({ recipe: { key: 'RC' }, specification: { key: 'SP' } });
});

it('is a command that ends as refusals and unknown cases end', async () => {
  const data = cell.folder.path;
  await cell.close();
  const { code, text } = await runCommand(data, ['prepare', 'K-101-2']);
  expect([code, text]).toEqual([0, expect.stringContaining('Lot L-K-101-2-1 for case K-101-2 lies ready in ')]);
  expect(await runCommand(data, ['prepare', 'K-0'])).toMatchObject({ code: 7 });
  expect(await runCommand(data, ['prepare', 'K-101-2', '--out', data])).toMatchObject({ code: 2 });
});
