import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { readAsOf } from '../../src/design-file/as-of.js';
import { BASELINES } from '../../src/qualification/designs/played-designs.js';
import { PIN_LOT } from '../../src/qualification/pins/pin-lot.js';
import { recipe } from '../../src/qualification/recipe.js';
import { EARLIER_LOTS } from '../../src/qualification/scenario.js';
import { STORY_LOTS } from '../../src/qualification/stories/three-lots.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { digest, type Json } from '../support/by-note/carried.js';
import { temporaryFolder } from '../support/cell.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';
import { withTool } from '../support/tools.js';

let services: Services;
const papers = temporaryFolder('designs');

beforeAll(async () => {
  services = await openServices((await playedDemo()).result.folder);
});
afterAll(() => services.store.close());

const asOf = (day: string) => readAsOf(day, services.store);
const printed = async (family: string, day?: string) => {
  const at = day === undefined ? undefined : await asOf(day);
  const { pdf, ...paper } = await services.designPapers.print(family, 'local:tester', 'design-history', at);
  const file = path.join(papers, `${family}.pdf`);
  fs.writeFileSync(file, pdf);
  return { file, ...paper };
};
const gapsOf = async (family: string, day?: string) => {
  const { gaps } = await services.designs.ask('answer', {
    family,
    asOf: day === undefined ? undefined : await asOf(day),
  });
  return gaps.map(({ rule, subjects, state }) => [rule, subjects.map(({ key }) => key).join(' '), state]);
};

it('lacks two things, has one answered with the day on which the answer ends, and nothing else', async () => {
  expect(await services.designs.families()).toEqual(['BRIDGE-PLATE', 'COATED-PLATE', 'RIB-STRIP', 'ZINC-PIN']);
  expect(await gapsOf('BRIDGE-PLATE')).toEqual([['action-open', 'DR-BP-4', 'open']]);
  expect(await gapsOf('COATED-PLATE')).toEqual([
    ['need-not-validated', 'UN-CP-4', 'open'],
    ['study-other-family', 'DS-CP-3 L-2026-011', 'answered'],
  ]);
  const { gaps } = await services.designs.ask('answer', { family: 'COATED-PLATE' });
  expect(gaps.find(({ state }) => state === 'answered')!.answer).toMatchObject({ by: 'AL', until: '2027-02-26' });
});

it.each([
  ['RIB-STRIP', BASELINES.strips, ['RS-10', 'RS-25']],
  ['ZINC-PIN', BASELINES.pins, [PIN_LOT]],
])('of %s is small and lacks nothing, and was frozen before what was built since', async (family, name, later) => {
  expect(await gapsOf(family)).toEqual([]);
  const { matrix, baselines, lots } = await services.designs.ask('answer', { family });
  expect(matrix.length).toBeGreaterThan(2);
  expect(baselines.map((one) => [one.name, one.approvedBy])).toEqual([[name, 'TO']]);
  const named = new Map(lots.map(({ lot, baseline }) => [lot, baseline]));
  for (const lot of later) expect([lot, named.get(lot)]).toEqual([lot, name]);
});

it('was whole when the first lot was built, and closed by a change what the first review had found', async () => {
  expect(await gapsOf('BRIDGE-PLATE', '2025-09-19')).toEqual([]);
  const before = await gapsOf('COATED-PLATE', '2026-08-31');
  expect(before.filter(([rule]) => rule === 'worst-case-without-study')).toHaveLength(2);
  const { body, revision } = await services.store.read.entries.currentOrThrow('design-change', 'DC-CP-1');
  expect([revision, body.decision]).toEqual([2, 'go']);
  const { lines } = body.touches!;
  expect(lines.filter(({ answer }) => answer === undefined)).toEqual([]);
  expect(lines.map(({ sort, key }) => `${sort} ${key}`)).toEqual(
    expect.arrayContaining([
      ...STORY_LOTS.map((lot) => `lot ${lot}`),
      ...['entry design-output DO-CP-1', 'study design-study DS-CP-1', 'risk risk-control RC-CP-1'],
      'to be told Fjordside Clinic (fictional)',
    ]),
  );
});

it('leads from a need to its test on the worst case, sterilised and aged, and on to lots', async () => {
  const { matrix, back, claims, lots } = await services.designs.ask('answer', { family: 'COATED-PLATE' });
  const ways = matrix.filter(({ need }) => need === 'UN-CP-1');
  const [validation] = [...new Set(ways.flatMap(({ validatedBy }) => validatedBy))];
  const { body } = (await services.store.read.entries.current('design-study', validation!))!;
  expect(body).toMatchObject({ sterilised: 'yes', aged: expect.stringContaining('37 days'), result: 'met' });
  const { body: envelope } = (await services.store.read.entries.current('design-envelope', 'CP-ENV'))!;
  const tested = envelope.parameters.map(({ worstCases }) => worstCases!.map(({ study }) => study));
  expect(tested).toEqual([[{ designStudy: validation, revision: 2 }], [{ designStudy: validation, revision: 2 }]]);
  expect(back.find(({ study }) => study === validation)).toMatchObject({ needs: ['UN-CP-1'], lots: ['C-2026-00'] });
  expect(claims.find(({ study }) => study === validation)).toMatchObject({ answer: 'holds', values: 10 });
  const built = lots.filter(({ lot }) => STORY_LOTS.includes(lot));
  expect(built.map(({ baseline }) => baseline)).toEqual(STORY_LOTS.map(() => BASELINES.coated));
});

it('names for each earlier lot the baseline that was in force when it was built', async () => {
  const { lots } = await services.designs.ask('answer', { family: 'BRIDGE-PLATE' });
  const named = new Map(lots.map(({ lot, baseline }) => [lot, baseline]));
  for (const lot of EARLIER_LOTS) expect([lot, named.get(lot)]).toEqual([lot, BASELINES.bridge]);
});

it.each([
  ['BRIDGE-PLATE', BASELINES.bridge, '2025-09-19'],
  ['COATED-PLATE', BASELINES.coated, '2026-08-31'],
  ['BRIDGE-PLATE', BASELINES.bridgeYear, '2026-11-20'],
  ['COATED-PLATE', BASELINES.changed, '2026-11-20'],
])('of %s was at the end of a past day what %s froze then', async (family, name, day) => {
  const { members } = await services.designs.ask('answer', { family, asOf: await asOf(day) });
  const { body, approvedBy } = {
    ...(await services.store.read.entries.currentOrThrow('baseline', `${family}:${name}`)),
    approvedBy: (await services.designs.ask('answer', { family })).baselines.find((one) => one.name === name)!
      .approvedBy,
  };
  expect(body.members.length).toBeGreaterThan(40);
  expect(members).toEqual(body.members);
  expect(approvedBy).toBe('TO');
});

it('has files that verify with nothing but themselves: a draft while a gap is open, sealed where none was', async () => {
  for (const [family, day, draft] of [
    ['COATED-PLATE', undefined, true],
    ['BRIDGE-PLATE', '2025-09-30', false],
  ] as const) {
    const paper = await printed(family, day);
    expect([family, paper.draft]).toEqual([family, draft]);
    const { steps } = await verifyRecord(paper.file);
    expect(steps.filter(({ outcome }) => outcome === 'does not hold' || outcome === 'differs')).toEqual([]);
  }
});

withTool('pdfdetach', 'a stranger with the PDF alone', () => {
  it('computes the strength of the worst case again, by the note in it and a table', async () => {
    const { file } = await printed('COATED-PLATE');
    const attached = (name: string): string => {
      const to = path.join(papers, name);
      execFileSync('pdfdetach', ['-savefile', name, '-o', to, file]);
      return fs.readFileSync(to, 'utf8');
    };
    const design: Json = JSON.parse(attached('design-history.json'));
    expect(attached('how-to-recompute.txt')).toContain('lower = mean - k s');
    const study = design.revisions.find(({ key, revision }: Json) => key === 'DS-CP-1' && revision === 2);
    expect(digest(study.body)).toBe(study.digest);
    const { criterion, coupons, lots, n } = study.body;
    const values: number[] = design.studied
      .filter(({ lot }: Json) => lots.includes(lot))
      .flatMap((one: Json) => one.values)
      .filter((one: Json) => one.characteristic === criterion.characteristic && coupons.includes(one.specimen))
      .map((one: Json) => Number(one.value));
    expect(values).toHaveLength(n);
    const mean = values.reduce((sum, value) => sum + value) / n;
    const s = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1));
    // One-sided normal tolerance factor for n = 10, 95 % of all units, 95 % confidence: 2.911 in the usual tables
    // (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, gives the formula).
    expect([n, criterion.reliability, criterion.confidence]).toEqual([10, '0.95', '0.95']);
    const lower = mean - 2.911 * s;
    expect(lower).toBeGreaterThan(Number(criterion.value));
    const claim = design.found.claims.find((one: Json) => one.study === 'DS-CP-1');
    expect(claim.answer).toBe('holds');
    expect(claim.numbers.lower).toBeCloseTo(lower, 2);
  });
});

it('lacks a design change the same day on which a recipe is revised without one', async () => {
  const document = { ...recipe, revision: 5, approval: undefined };
  const written = Object.fromEntries(Object.entries(document).filter(([, value]) => value !== undefined));
  await services.intake.take([{ file: 'recipe.yaml', document: written }], 'local:tester');
  const { gaps, asOf: today } = await services.designs.ask('answer', { family: 'BRIDGE-PLATE' });
  expect(today).toBe('2026-11-24');
  expect(gaps.map(({ rule, subjects }) => `${rule} ${subjects[0]!.key}`)).toEqual(
    expect.arrayContaining(['revision-without-change BP-RECIPE', 'tie-superseded DO-BP-2']),
  );
});
