// Not quick: it grows families lot by lot.
import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import type { CapabilityResult } from '../../src/assessment/assessment.js';
import { CapabilityStatement, statedAgain } from '../../src/assessment/family/statement.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { CharacteristicHistory } from '../../src/dossier/family-history.js';
import { FamilySummaries } from '../../src/lots/family-summaries.js';
import { createApplication } from '../../src/main.js';
import { CapabilityPapers } from '../../src/records/capability/capability-papers.js';
import { citedStatements } from '../../src/records/cited-statements.js';
import { withinCited } from '../../src/report/cited-statement.js';
import { settingsBefore } from '../../src/report/setting-changes.js';
import type { Signable } from '../../src/signing/signable.js';
import { Subjects } from '../../src/signing/subjects.js';
import { ALWAYS, LAST_ENTRY, NEVER } from '../../src/store/histories.js';
import { FamilyPage } from '../../src/trend/family-page.js';
import { StatementAnswer, StatementsAnswer } from '../../src/trend/statement-answer.js';
import { reportInWords } from '../../src/verify/report.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { addLot, temporaryFolder } from '../support/cell.js';
import { rmPlan } from '../support/documents/rm-plan.js';
import { runCommand } from '../support/run-command.js';
import { type Asking, askingAs } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';

type ReadOne = (...asked: unknown[]) => Promise<Signable>;

/** Signing goes on as in a program that asks nobody why. */
function asksForNothing() {
  const prototype = Subjects.prototype as unknown as { readOne: ReadOne };
  const { readOne } = prototype;
  return vi.spyOn(prototype, 'readOne').mockImplementation(async function (this: unknown, ...asked) {
    const { asksWhy: _, ...signable } = await readOne.apply(this, asked);
    return signable;
  });
}

/*
 * Eight lots of February are the baseline. The plan is signed on 6 March; lots of March are made under it. L-1 of the cell
 * was built before the plan.
 */
const BASELINE = 8;
let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (let index = 1; index <= BASELINE; index += 1) {
      addLot(what, `L-B${index}`, 50 + index, `2031-02-0${index}`, {
        rm: 228 + ((index * 7) % 5),
        thickness: 1.495 + (index % 3) / 200,
      });
    }
  });
  for (let index = 1; index <= BASELINE; index += 1) await assess(`L-B${index}`);
  await assess('L-1');
});
afterAll(() => cell.close());

const assess = (lot: string) => cell.services.assessor.assess(lot, 'local:tester');
const rmOf = async (
  lot: string,
): Promise<{ capability: CapabilityResult; history: CharacteristicHistory; digest: string }> => {
  const { assessment, facts, dossierSha256 } = await assess(lot);
  const named = ({ characteristic }: { characteristic: string }) => characteristic === 'rm';
  return {
    capability: assessment.capability.find(named)!,
    history: facts.history!.characteristics.find(named)!,
    digest: dossierSha256,
  };
};
const takeIn = async (day: string, change: (what: SigningCell['cell']) => void) => {
  cell.folder.advanceTo(`${day}T12:00:00Z`);
  change(cell.cell);
  await cell.intake();
};
const signals = ({ chart, points }: CapabilityResult) =>
  chart!.signals.map(({ index, rule }) => `${points[index - 1]!.specimen} ${rule}`);

it('is what earlier lots measured, with points and without limits while no plan was signed', async () => {
  const { capability, history } = await rmOf('L-1');
  expect(history.pool).toMatchObject({ n: 4 * BASELINE, lots: BASELINE, builds: BASELINE });
  expect(history.builds.map(({ lot }) => lot)).toEqual(Array.from({ length: BASELINE }, (_, i) => `L-B${i + 1}`));
  expect(capability.chart).toBeNull();
  expect(capability.notes.map(({ code }) => code)).toContain('no plan in force');
  expect(capability.points.filter(({ ofThisLot }) => ofThisLot)).toHaveLength(4);
});

it('changes no digest of a lot when another lot is assessed again or comes in between', async () => {
  const before = (await rmOf('L-1')).digest;
  await takeIn('2031-03-05', (what) => addLot(what, 'L-LATE', 70, '2031-02-20', { rm: 232, thickness: 1.5 }));
  await assess('L-LATE');
  expect((await rmOf('L-1')).digest).toBe(before);
  expect((await cell.services.overview.of('L-1')).outOfDate).toBe(false);
});

it('counts the other lot as soon as a fact of the lot itself comes', async () => {
  await takeIn('2031-03-05', (what) => {
    const sheet = what.sheets['lots/L-1/results/size.csv']!;
    sheet[0] = { ...sheet[0], value: '1.502', reason: 'read from the wrong line' };
  });
  const { history } = await rmOf('L-1');
  expect(history.pool).toMatchObject({ n: 4 * (BASELINE + 1), lots: BASELINE + 1 });
});

describe('under a signed plan', () => {
  beforeAll(async () => {
    await takeIn('2031-03-06', (what) => {
      what.documents['site/plans/rm.yaml'] = rmPlan({ baseline: { from: '2031-02-01', to: '2031-02-08' } });
    });
    await takeIn('2031-03-08', (what) => addLot(what, 'L-2', 102, '2031-03-07', { rm: 230, thickness: 1.5 }));
    await takeIn('2031-03-10', (what) => addLot(what, 'L-3', 103, '2031-03-09', { rm: 260, thickness: 1.5 }));
    await takeIn('2031-03-12', (what) => addLot(what, 'L-4', 104, '2031-03-11', { rm: 230, thickness: 1.5 }));
  });

  it('has limits from the values of the baseline, and pins plan and signature', async () => {
    const { capability, history } = await rmOf('L-2');
    expect(capability.chart).toMatchObject({ plan: 'CAP-RM', revision: 1, approvedBy: { code: 'P-QE' } });
    expect(capability.chart!.baseline).toEqual({ points: 4 * BASELINE, from: '2031-02-01', to: '2031-02-08' });
    expect(new Set(history.plan!.baseline.map(({ lot }) => lot)).size).toBe(BASELINE);
    expect(signals(capability)).toEqual([]);
    const { dossier } = (await assess('L-2')).facts;
    expect(dossier.pinned.filter(({ kind }) => kind === 'capability-plan')).toHaveLength(1);
    expect(dossier.signatures.some(({ statement }) => statement.subjects[0]!.kind === 'capability-plan')).toBe(true);
  });

  it('has none for a lot that was built before the plan was signed', async () => {
    await takeIn('2031-03-12', (what) => {
      const sheet = what.sheets['lots/L-1/results/size.csv']!;
      sheet[1] = { ...sheet[1], value: '1.503', reason: 'read from the wrong line' };
    });
    expect((await rmOf('L-1')).capability.chart).toBeNull();
  });

  it('tells of a shift in the lot where it happens, and not in the next; its limits stay', async () => {
    const { capability: ahead } = await rmOf('L-2');
    const { capability: shifted } = await rmOf('L-3');
    expect(signals(shifted)).toEqual(expect.arrayContaining(['L-3-W1 beyondLimit', 'L-3-W2 beyondLimit']));
    expect(signals(shifted)).toHaveLength(4);
    const { capability: next } = await rmOf('L-4');
    expect(next.n).toBe(shifted.n + 4);
    expect(signals(next)).toEqual([]);
    for (const { chart } of [shifted, next]) expect({ ...chart, signals: [] }).toEqual({ ...ahead.chart, signals: [] });
  });

  it('stands on the page of the family with all characteristics: open signals said, each mean leading to its values', async () => {
    await assess('L-3');
    const { store, studies } = cell.services;
    const page = new FamilyPage(store, new FamilySummaries(store, studies));
    const byBound = await page.view('PLATE', 'bound');
    expect(byBound.left).toEqual([]);
    const rm = byBound.charts.find(({ says }) => says !== 'no plan')!;
    expect(rm).toMatchObject({ isOpen: true, signalSays: expect.stringContaining('nobody said yet') });
    expect(byBound.charts.filter((chart) => chart !== rm).every(({ says }) => says === 'no plan')).toBe(true);
    expect((await page.view('PLATE', 'signal')).charts[0]!.to).toBe(rm.to);
    const row = byBound.table.rows.find(({ lot }) => lot === 'L-3')!;
    expect(row.cells.find(({ title }) => title === rm.title)).toMatchObject({
      text: '262.25 (4)',
      to: expect.stringMatching(/^\/lots\/L-3\/tests#/),
    });
    await expect(page.view('NONE', 'bound')).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });

  it('shows the signal as something to look at, and no verdict turns by it', async () => {
    const { assessment } = await assess('L-3');
    expect(assessment.units.map(({ verdict }) => verdict)).toEqual(
      (await assess('L-2')).assessment.units.map(({ verdict }) => verdict),
    );
    expect(JSON.stringify(assessment.checks)).not.toContain('beyondLimit');
  });

  it('asks what a signal came from until somebody said so and quality approved it', async () => {
    const { studies, trend, store } = cell.services;
    const open = await studies.openSignals();
    expect(open.length).toBeGreaterThan(0);
    expect(
      open.every(
        ({ family, characteristic, outcomeDays }) => `${family} ${characteristic} ${outcomeDays}` === 'PLATE rm 14',
      ),
    ).toBe(true);
    const beyond = open.filter(({ signal }) => signal.rule === 'beyondLimit' && signal.lots[0] === 'L-3');
    expect(beyond).toHaveLength(4);
    const { id, points, lots } = beyond[0]!.signal;
    await takeIn('2031-03-12', (what) => {
      what.documents['site/signals/one.yaml'] = {
        ...{ kind: 'signal-outcome', format: 1, signal: id, plan: { plan: 'CAP-RM', revision: 1 } },
        ...{ rule: 'beyondLimit', points: [...points], lots: [...lots] },
        ...{ cause: 'a stiffer batch of rod (invented)', outcome: 'no action', by: 'P-PE', at: '2031-03-12T09:00:00Z' },
      };
    });
    const { digest } = await store.read.entries.currentOrThrow('signal-outcome', id);
    const signed = await store.read.signatures.on([digest]);
    expect(signed.map(({ signed: { statement } }) => statement.meaning).sort()).toEqual(['approved', 'performed']);
    const after = await studies.openSignals();
    expect(after.map(({ signal }) => signal.id)).toEqual(
      open.map(({ signal }) => signal.id).filter((one) => one !== id),
    );
    const { studied } = await trend.trend('rm', 'PLATE');
    expect(studied!.study.chart.signals.find((signal) => signal.id === id)!.outcome).toMatchObject({ by: 'P-PE' });
  });

  it('states what the family is able to once, with all that it rests on, and nothing where there is no index', async () => {
    const { stating, store } = cell.services;
    const asked = ['rm', 'PLATE', { to: '2031-03-08' }, 'local:tester'] as const;
    const first = await stating.state(...asked);
    expect(first).toMatchObject({ number: 1, known: false });
    const statement = CapabilityStatement.parse(JSON.parse(first!.text));
    expect(statement.study.listed.length).toBe(statement.input.rows.length);
    expect(canonicalJson(statedAgain(statement))).toBe(first!.text);
    expect(await stating.state(...asked)).toEqual({ ...first, known: true });
    expect(await store.read.capabilityStatements.of('PLATE', 'rm')).toMatchObject([
      { number: 1, plan: 'CAP-RM', planRevision: 1, digest: first!.digest },
    ]);
    expect(await stating.state('rm', 'PLATE', { to: '2031-02-01' }, 'local:tester')).toBeUndefined();
  });

  it('is reviewed by signature, printed with all that it rests on, and verified from the paper alone', async () => {
    const { store, waiting } = cell.services;
    const papers = new CapabilityPapers(store);
    const verified = async (pdf: Buffer) => {
      const file = path.join(temporaryFolder('statement-paper'), 'statement.pdf');
      fs.writeFileSync(file, pdf);
      return reportInWords(await verifyRecord(file));
    };
    const draft = await verified((await papers.print('PLATE', 'rm', 1, 'local:tester')).pdf);
    expect(draft.statement).toMatchObject({ number: 1, draft: true });
    expect(draft.answer).toBe('issuer not compared');
    const thing = 'capability statement:PLATE:rm@1';
    expect((await waiting.all()).find((one) => one.thing === thing)).toMatchObject({
      meaning: 'reviewed',
      who: ['P-QE'],
    });
    await cell.sign('P-QE', thing, { meaning: 'reviewed' });
    expect((await waiting.all()).some((one) => one.thing === thing)).toBe(false);
    const { pdf } = await papers.print('PLATE', 'rm', 1, 'local:tester');
    const found = await verified(pdf);
    expect(found.statement).toMatchObject({ draft: false });
    expect(found.steps.filter(({ outcome }) => outcome !== 'holds').map(({ step }) => step)).toEqual(['key']);
    expect(found.steps.find(({ step }) => step === 'statement')!.says).toContain('same to the last digit');
    const spoilt = Buffer.from(pdf);
    spoilt[Math.floor(pdf.length / 2)] = pdf[Math.floor(pdf.length / 2)]! ^ 1;
    // A byte that says nothing lets the pages be drawn again all the same.
    expect((await verified(spoilt)).answer).toMatch(/^(altered|saved again)$/);
  });

  it('is not reviewed without a reason where limits moved after the data or a gauge was overdue', async () => {
    const { store } = cell.services;
    const stated = (await store.read.capabilityStatements.numbered('PLATE', 'rm', 1))!;
    const told = CapabilityStatement.parse(JSON.parse(stated.body));
    const moved = { code: 'limits moved', facts: { revision: 2, effectiveFrom: '2031-03-05T00:00:00Z', lots: 3 } };
    const overdue = { code: 'overdue', facts: { uses: [{ instrument: 'RIG', lots: ['L-1'] }] } };
    for (const [note, asks] of [
      [moved, /Say in the review why they moved/],
      [overdue, /RIG on .*L-1.*say in the review why they may/],
    ] as const) {
      const characteristic = `rm-${note.code.replace(' ', '-')}`;
      const body = canonicalJson({ ...told, study: { ...told.study, notes: [note] } });
      await store.change('local:tester', (change) =>
        change.capabilityStatements.add({ ...stated, characteristic, number: 1, body }),
      );
      const thing = `capability statement:PLATE:${characteristic}@1`;
      await expect(cell.sign('P-QE', thing, { meaning: 'reviewed' })).rejects.toThrow(asks);
      await cell.sign('P-QE', thing, { meaning: 'reviewed', reason: 'the old values are in it too (invented)' });
    }
  });

  it('is not verified from a paper whose review leaves out the reason that it asks for', async () => {
    const { store } = cell.services;
    const stated = (await store.read.capabilityStatements.numbered('PLATE', 'rm', 1))!;
    const told = CapabilityStatement.parse(JSON.parse(stated.body));
    const saysOf = async (characteristic: string, reason?: string) => {
      const overdue = { code: 'overdue', facts: { uses: [{ instrument: characteristic, lots: ['L-1'] }] } };
      const body = canonicalJson({ ...told, study: { ...told.study, notes: [overdue] } });
      await store.change('local:tester', (change) =>
        change.capabilityStatements.add({ ...stated, characteristic, number: 1, body }),
      );
      const asking = asksForNothing();
      await cell.sign('P-QE', `capability statement:PLATE:${characteristic}@1`, { meaning: 'reviewed', reason });
      asking.mockRestore();
      const file = path.join(temporaryFolder('statement-paper'), 'statement.pdf');
      fs.writeFileSync(file, (await new CapabilityPapers(store).print('PLATE', characteristic, 1, 'local:tester')).pdf);
      const { steps } = await verifyRecord(file);
      return JSON.stringify(steps).includes('review without a reason');
    };
    expect(await saysOf('rm-unsaid')).toBe(true);
    expect(await saysOf('rm-said', 'read again the day after (invented)')).toBe(false);
  });

  it('keeps its limits when a value of the baseline is corrected after the plan was approved', async () => {
    const { chart } = (await rmOf('L-4')).capability;
    await takeIn('2031-03-13', (what) => {
      const sheet = what.sheets['lots/L-B1/results/tensile.csv']!;
      sheet[0] = { ...sheet[0], value: '199.0', reason: 'the curve was read again' };
    });
    await assess('L-B1');
    await takeIn('2031-03-15', (what) => addLot(what, 'L-5', 105, '2031-03-14', { rm: 230, thickness: 1.5 }));
    const { capability, history } = await rmOf('L-5');
    const { read } = cell.services.store;
    const [cited, ...more] = await citedStatements(read, (await assess('L-5')).facts);
    expect(cited).toMatchObject({
      characteristic: 'rm',
      number: 1,
      plan: { plan: 'CAP-RM', revision: 1 },
      review: { by: 'P-QE' },
    });
    expect(withinCited(cited!, capability)).toEqual({ points: 4, within: 4 });
    expect(withinCited(cited!, (await rmOf('L-3')).capability)).toEqual({ points: 4, within: 0 });
    expect(more).toEqual([]);
    // It was built before quality reviewed the statement.
    expect(await citedStatements(read, (await assess('L-4')).facts)).toEqual([]);
    expect({ ...capability.chart, signals: [] }).toEqual({ ...chart, signals: [] });
    expect(history.plan!.baseline.map(({ value }) => value)).not.toContain(199);
    expect(history.pool.min).toBe(199);
  });

  it('has out, and named, what a signed decision took out', async () => {
    const before = (await rmOf('L-5')).history.pool.n;
    await takeIn('2031-03-16', (what) => {
      Object.assign(what.documents['lots/L-B2/lot.yaml']!, {
        invalidTests: [
          {
            result: { specimen: 'L-B2-W1', characteristic: 'rm', replicate: 1 },
            cause: 'slip in the grip',
            seenBy: 'P-AN',
            decidedBy: 'P-QE',
            at: '2031-02-04T09:00:00+01:00',
          },
        ],
      });
    });
    await assess('L-B2');
    const open = (await cell.services.waiting.all()).filter(
      ({ lot, meaning }) => lot === 'L-B2' && meaning === 'decided',
    );
    await cell.decide(
      'P-QE',
      open.map(({ thing }) => thing),
    );
    await assess('L-B2');
    await takeIn('2031-03-18', (what) => addLot(what, 'L-6', 106, '2031-03-17', { rm: 230, thickness: 1.5 }));
    const { history, capability } = await rmOf('L-6');
    // L-5 came to what there was before L-5, and one value left.
    expect(history.pool.n).toBe(before + 4 - 1);
    expect(history.takenOut.values).toBe(1);
    expect(history.takenOut.last).toEqual([
      expect.objectContaining({ lot: 'L-B2', specimen: 'L-B2-W1', cause: 'slip in the grip', decidedBy: 'P-QE' }),
    ]);
    expect(capability.takenOut).toEqual(history.takenOut);
    const { lots } = await cell.services.trend.trend('rm', 'PLATE');
    expect(lots.find(({ lot }) => lot === 'L-B2')).toMatchObject({ n: 3, takenOut: 1 });
  });

  it('is frozen to the same bytes again when plans are named in another order than characteristics', async () => {
    await takeIn('2031-03-19', (what) => {
      what.documents['site/plans/thickness.yaml'] = rmPlan({
        ...{ plan: 'CAP-A', title: 'Thickness of plates', characteristic: 'thickness' },
        pools: { ...rmPlan().pools, methods: [{ method: 'TM-S', revision: 1 }] },
      });
    });
    await takeIn('2031-03-21', (what) => addLot(what, 'L-7', 107, '2031-03-20', { rm: 230, thickness: 1.5 }));
    const { facts, dossierSha256 } = await assess('L-7');
    expect(facts.history!.characteristics.map(({ plan }) => plan?.plan)).toEqual(['CAP-RM', 'CAP-A']);
    const { signatures } = facts.dossier;
    const approved = signatures.flatMap(({ statement }) => statement.subjects.map(({ key }) => key));
    expect(approved.filter((key) => key.startsWith('CAP-'))).toEqual(['CAP-A', 'CAP-RM']);
    expect((await assess('L-7')).dossierSha256).toBe(dossierSha256);
    expect((await cell.services.overview.of('L-7')).outOfDate).toBe(false);
  });

  it('looks back on lots with all their values where the plan makes one point of each', async () => {
    await takeIn('2031-03-22', (what) => {
      what.documents['site/plans/lots.yaml'] = rmPlan({
        ...{ plan: 'CAP-LOTS', title: 'Strength by lot', subgroup: 'lot', baseline: undefined },
        effectiveFrom: '2031-03-22T00:00:00+01:00',
      });
    });
    await takeIn('2031-03-24', (what) => addLot(what, 'L-8', 108, '2031-03-23', { rm: 230, thickness: 1.5 }));
    const { history, capability } = await rmOf('L-8');
    expect(history.plan!.plan).toBe('CAP-LOTS');
    // One value of L-B2 was taken out. Every lot has four specimens.
    const lots = [...new Set(history.last.map(({ lot }) => lot))];
    expect(lots).toHaveLength(history.pool.lots);
    expect(history.last).toHaveLength(4 * lots.length - 1);
    expect(capability.points.filter(({ ofThisLot }) => !ofThisLot).map(({ lot }) => lot)).toEqual(lots);
  });

  it('carries what the recipe of the build before set, where the lot is made by another revision', async () => {
    expect((await assess('L-8')).facts.history!.lastBuild.settings).toBeUndefined();
    await takeIn('2031-03-26', (what) => {
      const anew = structuredClone(what.documents['site/recipe.yaml']!);
      Object.assign(anew, { revision: 3, effectiveFrom: '2031-03-25T00:00:00+01:00' });
      anew.zones[0].steps[0].parameters[0].set = '305';
      what.documents['site/recipe-3.yaml'] = anew;
      addLot(what, 'L-9', 109, '2031-03-25', { rm: 230, thickness: 1.5 });
      const { implants, coupons } = what.documents['lots/L-9/lot.yaml']!;
      for (const part of [...implants, ...coupons]) part.recipe = { recipe: 'RC', revision: 3 };
    });
    const { facts } = await assess('L-9');
    const { says, changes } = settingsBefore(facts);
    expect(says).toBe(
      'The build before these in the family was M1-108 of lot L-8, made by RC rev 2. What it set otherwise stands below.',
    );
    expect(changes).toEqual([
      { recipe: 'RC rev 3', zone: 'span', step: 'deposition', setting: 'laser power', before: '300 W', now: '305 W' },
    ]);
  });

  it('flags limits that moved by a revision that came after the lots, whatever day it names', async () => {
    const { store, studies } = cell.services;
    const current = async () => (await store.read.entries.currentOrThrow('specification', 'SP')).body;
    const noteNow = async () =>
      (await studies.study('PLATE', 'rm', await current()))!.study.notes.find(({ code }) => code === 'limits moved');
    const { revision, effectiveFrom } = await current();
    expect(await noteNow()).toBeUndefined();
    for (const [later, typed] of [effectiveFrom, '2029-01-01T00:00:00+01:00'].entries()) {
      await takeIn(`2031-03-2${7 + later}`, (what) => {
        const anew = structuredClone(what.documents['site/specification.yaml']!);
        Object.assign(anew, { revision: revision + 1 + later, effectiveFrom: typed });
        anew.characteristics.find((one: { characteristic: string }) => one.characteristic === 'rm').lower = '150';
        what.documents[`site/specification-${anew.revision}.yaml`] = anew;
      });
      expect(await noteNow()).toMatchObject({
        facts: { revision: revision + 1, effectiveFrom, recordedAt: expect.stringMatching(/^2031-03-27T/) },
      });
    }
  });

  it('is a chain that holds', async () => {
    expect(await cell.services.store.verifyLedger()).toMatchObject({ ok: true });
    const db = new Database(cell.folder.database, { readonly: true });
    const rows = db
      .prepare('SELECT position, replaces FROM "LotSummary" WHERE characteristic = ? ORDER BY position')
      .all('rm');
    db.close();
    expect(rows.map((row) => (row as { position: number }).position)).toEqual(rows.map((_, index) => index + 1));
    expect(rows.filter((row) => (row as { replaces: number | null }).replaces !== null)).toHaveLength(2);
  });
});

describe('by commands, pages and programs', () => {
  const ADDRESS = '/api/v1/families/PLATE/rm/statements';
  let app: Awaited<ReturnType<typeof createApplication>>;
  let ask: Asking;
  beforeAll(async () => {
    app = await createApplication(cell.services.store);
    ask = await askingAs(app, 'P-QE');
  });
  afterAll(() => app.close());

  it('answers of statements in the documented shape: the list, one with its digest, and the same again for the same', async () => {
    const list = StatementsAnswer.parse((await ask.get(ADDRESS)).body);
    expect(list.statements.map(({ number }) => number)).toContain(1);
    const one = await ask.get(`${ADDRESS}/1`);
    const { digest, statement, known } = StatementAnswer.parse(one.body);
    expect([known, digest]).toEqual([true, sha256Hex(canonicalJson(one.body.statement))]);
    expect(digest).toBe(list.statements.find(({ number }) => number === 1)!.digest);
    expect(statement).toMatchObject({ number: 1, input: { family: 'PLATE', plan: { plan: 'CAP-RM' } } });
    const window = '?from=2031-02-02&to=2031-03-08';
    const made = StatementAnswer.parse((await ask.post(`${ADDRESS}${window}`)).body);
    expect(made.known).toBe(false);
    expect(made.statement.number).toBe(list.statements[0]!.number + 1);
    const again = StatementAnswer.parse((await ask.post(`${ADDRESS}${window}`)).body);
    expect([again.known, again.digest]).toEqual([true, made.digest]);
    const paper = await ask.get('/trend/statement.pdf?family=PLATE&characteristic=rm&number=1');
    expect([paper.status, paper.headers['content-type']]).toEqual([200, 'application/pdf']);
  });

  it.each([
    ['get', `${ADDRESS}/99`, 404, 'NOT_FOUND'],
    ['get', `${ADDRESS}/1e1`, 400, 'BAD_INPUT'],
    ['post', `${ADDRESS}?to=2031-02-01`, 409, 'CONFLICT'],
    ['post', `${ADDRESS}?to=soon`, 400, 'BAD_INPUT'],
    ['post', '/api/v1/families/PLATE/sa/statements', 404, 'NOT_FOUND'],
    ['get', '/trend/statement.pdf?family=PLATE&characteristic=rm&number=0', 400, undefined],
  ] as const)('refuses %s %s with %d', async (how, address, status, code) => {
    const found = await ask[how](address);
    expect([found.status, found.body.code]).toEqual([status, code]);
  });

  it.each([
    [['rm', '--family', 'PLATE', '--from', '2031-02-02', '--to', '2031-03-08', '--statement', 'one.json'], 0],
    [['rm', '--family', 'PLATE', '--to', '2031-02-01', '--statement', 'none.json'], 4],
    [['rm', '--family', 'NONE'], 7],
    [['nothing', '--family', 'PLATE'], 7],
    [['sa', '--family', 'PLATE', '--statement', 'no-plan.json'], 7],
    [['rm', '--family', 'PLATE', '--number', '99', '--statement', 'late.json'], 7],
    [['rm', '--family', 'PLATE', '--from', 'soon'], 2],
  ])('ends the command trend %j with %d', async (words, code) => {
    const folder = temporaryFolder('trend-command');
    const named = words.map((word) => (word.endsWith('.json') ? path.join(folder, word) : word));
    const found = await runCommand(cell.folder.path, ['trend', ...named]);
    expect([found.code, fs.readdirSync(folder).length], found.text).toEqual([code, code === 0 ? 1 : 0]);
  });

  it('leads from a point to its lot, its values and the file that they came in, by two links', async () => {
    const linksIn = (text: string, what: RegExp) =>
      [...text.matchAll(/<a href="([^"]+)"/g)]
        .map(([, href]) => href!.replaceAll('&amp;', '&'))
        .filter((href) => what.test(href));
    for (const from of ['/families/PLATE', '/trend?family=PLATE&characteristic=rm']) {
      const { text } = await ask.get(from);
      expect(linksIn(text, /^\/lots\/L-3$/).length).toBeGreaterThan(0);
      const [values] = linksIn(text, /^\/lots\/L-3\/tests#/);
      const lot = await ask.get(values!);
      const section = lot.text.split('<section').find((one) => one.includes(`id="${values!.split('#')[1]}"`))!;
      const [file] = linksIn(section, /^\/evidence\//);
      const raw = await ask.get(file!).buffer(true);
      expect([raw.status, String(raw.text ?? raw.body)]).toEqual([200, expect.stringContaining('rm')]);
    }
  });

  it('turns the pages of many lots and builds, each lot on one page', async () => {
    const { store } = cell.services;
    const [model] = await store.read.histories.rows([
      {
        family: 'PLATE',
        characteristic: 'rm',
        seq: LAST_ENTRY,
        before: ALWAYS,
        from: NEVER,
        to: ALWAYS,
        values: true,
        beside: true,
      },
    ]);
    const { context } = model!.at(-1)!;
    await store.change('local:tester', async (change) => {
      for (let number = 100; number < 230; number += 1) {
        await change.histories.add(`E-${number}`, '0'.repeat(64), [
          {
            ...{
              family: 'PLATE',
              characteristic: 'rm',
              build: `B-${number}`,
              context,
              takenOut: [],
              beside: {},
              censored: 0,
            },
            builtAt: new Date(Date.parse('2029-01-01T08:00:00Z') + number * 86_400_000).toISOString(),
            ...{ n: 1, mean: 230, sumSquaredDeviations: 0, min: 230, max: 230, values: [['S', '', 1, 230]] },
          },
        ]);
      }
    });
    for (const [address, column] of [
      ['/families/PLATE', /<th scope="row"><a href="\/lots\/[^"]+">([^<]+)<\/a><\/th>/g],
      ['/trend?family=PLATE&characteristic=rm', /tests#[^"]+">1<\/a>/g],
    ] as const) {
      const seen: string[] = [];
      let next: string | undefined = address;
      for (let pages = 0; next !== undefined && pages < 20; pages += 1) {
        const { status, text }: { status: number; text: string } = await ask.get(next);
        expect(status).toBe(200);
        seen.push(...[...text.matchAll(column)].map(([whole, lot]) => lot ?? whole));
        const on = /<a href="([^"]+)">Earlier (?:lots|builds)<\/a>/.exec(text);
        next = on?.[1]?.replaceAll('&amp;', '&').split('#')[0];
      }
      expect(seen.length).toBeGreaterThan(130);
      if (address === '/families/PLATE') expect(new Set(seen).size).toBe(seen.length);
    }
    for (const row of ['0', '1e3', '-1']) expect((await ask.get(`/families/PLATE?row=${row}`)).status).toBe(400);
    expect((await ask.get('/families/PLATE?row=9999')).status).toBe(200);
  });

  it('leads from a signal to the form of its outcome, filled in with what the chart knows', async () => {
    await takeIn('2031-03-29', (what) => {
      what.documents['site/plans/again.yaml'] = rmPlan({
        ...{ plan: 'CAP-AGAIN', title: 'Strength once more', effectiveFrom: '2031-03-29T00:00:00+01:00' },
        baseline: { from: '2031-02-01', to: '2031-02-08' },
      });
    });
    await takeIn('2031-03-31', (what) => addLot(what, 'L-10', 110, '2031-03-30', { rm: 260, thickness: 1.5 }));
    await assess('L-10');
    const { text } = await ask.get('/trend?family=PLATE&characteristic=rm');
    const open = [...text.matchAll(/href="(\/enter\/signal-outcome\?signal=([0-9a-f]{64}))"/g)];
    expect(open.length).toBeGreaterThan(0);
    const [, address, signal] = open[0]!;
    const form = await ask.get(address!);
    const told = (name: string) => new RegExp(`name="${name}"[^>]*value="([^"]*)"`).exec(form.text)?.[1];
    expect([form.status, told('signal'), told('plan\\.plan'), told('lots\\[0\\]'), told('by')]).toEqual([
      ...[200, signal, 'CAP-AGAIN', 'L-10', 'P-QE'],
    ]);
    // Within a window a chart may have signals of its own, of which nobody is asked.
    const within = await ask.get('/trend?family=PLATE&characteristic=rm&from=2031-03-30&to=2031-03-30');
    expect([within.status, within.text.includes(signal!)]).toEqual([200, true]);
    expect(within.text).not.toContain('/enter/signal-outcome');
    expect((await ask.get(`/enter/signal-outcome?signal=${'0'.repeat(64)}`)).status).toBe(404);
    expect((await ask.get('/enter/signal-outcome?signal=none')).status).toBe(400);
    expect((await ask.get(address!.replace('signal-outcome', 'receipt'))).status).toBe(404);
  });
});
