import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Assessment } from '../../src/assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../../src/base/assessment-version.js';
import { lotsToAssessAgain } from '../../src/lots/earlier-assessment.js';
import type { LotLine } from '../../src/lots/lot-line.js';
import { Reassessor } from '../../src/lots/reassessor.js';
import { createApplication, serve } from '../../src/main.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import { Enclosure } from '../../src/records/enclosure.js';
import { standsOver } from '../../src/records/signatures.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { addLot } from '../support/cell.js';
import { assessAsEarlier, EARLIER_RULES, failByCounts, signAsEarlier } from '../support/earlier-version.js';
import { PASSWORD } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { type Asking, askingAs, sendForm } from '../support/service.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';
import { withTools } from '../support/tools.js';

/*
 * An upgrade: a data folder whose lots were assessed by other rules than those of this program. L-1 is open, and the rules
 * before failed one of its implants by its counts. L-B is released, and one of its implants is too thick, which the rules
 * before did not see. L-C comes out the same.
 */
const CLI = path.resolve('bundle', 'cli.js');

let cell: SigningCell;
let app: NestExpressApplication;
let ask: Asking;
const before: Record<string, string> = {};

function seeNothing(assessment: Assessment): void {
  for (const check of assessment.checks) {
    if (check.outcome === 'fails') Object.assign(check, { outcome: 'passes', findings: [] });
  }
  for (const unit of assessment.units) Object.assign(unit, { verdict: 'conforms', releasable: true, why: [] });
  assessment.releasable = assessment.units.map(({ serial }) => serial);
}

beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    addLot(made, 'L-B', 201, '2031-03-03', { rm: 230, thickness: 1.5 });
    made.sheets['lots/L-B/results/size.csv']![0]!.value = '1.700';
    addLot(made, 'L-C', 202, '2031-03-03', { rm: 230, thickness: 1.5 });
  });
  const { services } = cell;
  before['L-1'] = await assessAsEarlier(services, 'L-1', failByCounts);
  before['L-B'] = await assessAsEarlier(services, 'L-B', seeNothing);
  before['L-C'] = await assessAsEarlier(services, 'L-C');
  const reviewed = { meaning: 'reviewed', role: 'quality engineer' } as const;
  await signAsEarlier(services, 'L-1', before['L-1'], reviewed);
  await signAsEarlier(services, 'L-B', before['L-B'], reviewed);
  const units = ['L-B-I1', 'L-B-I2'];
  await signAsEarlier(services, 'L-B', before['L-B'], { meaning: 'released', role: 'releaser', units });
  app = await createApplication(services.store);
  ask = await askingAs(app, 'P-QE');
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

const page = async (path: string): Promise<string> => {
  const { status, text } = await ask.get(path);
  expect(status).toBe(200);
  return text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
};
const lotwright = (...words: string[]) => runCommand(cell.folder.path, words);

/** The verdicts of a lot as each door says them. */
async function everywhere(lot: string): Promise<Record<string, string[]>> {
  const lists = async (answer: { lots: LotLine[] }) =>
    answer.lots.find((line) => line.lot === lot)!.units.map(({ verdict }) => verdict);
  const { body } = await ask.get(`/api/v1/lots/${lot}`);
  const verdictsIn = (text: string, between: string) =>
    [...text.matchAll(new RegExp(`${lot}-I\\d ${between}(conforms|does not conform)`, 'g'))].map(
      ([, verdict]) => verdict!,
    );
  /** Units of which the same is said stand together. */
  const verdictsTogether = (text: string) =>
    [...text.matchAll(new RegExp(`(${lot}-I\\d(?: , ${lot}-I\\d)*) (conforms|does not conform)`, 'g'))].flatMap(
      ([, units, verdict]) => units!.split(' , ').map(() => verdict!),
    );
  return {
    'API list': await lists((await ask.get('/api/v1/lots')).body as { lots: LotLine[] }),
    API: (body as { assessment: Assessment }).assessment.units.map(({ verdict }) => verdict),
    status: await lists(JSON.parse((await lotwright('--json', 'status')).text) as { lots: LotLine[] }),
    'page of the lot': verdictsIn(await page(`/lots/${lot}`), 'K-[^,]*, invented site, \\w+ '),
    'page of all lots': verdictsTogether(await page('/lots')),
  };
}

const waitingFor = async (lot: string) =>
  (await cell.services.waiting.all())
    .filter((item) => item.lot === lot && item.units.length > 0)
    .map(({ meaning, units }) => `${meaning}: ${units.join(', ')}`);

const FAILS = 'does not conform';
const PASSES = 'conforms';

describe('before the lots are assessed again', () => {
  it('every door says what the earlier version said', async () => {
    for (const verdicts of Object.values(await everywhere('L-1'))) expect(verdicts).toEqual([FAILS, PASSES]);
    expect(await waitingFor('L-1')).toEqual(['released: L-1-I2', 'rejected: L-1-I1']);
  });

  it('and marks it so, with the number of lots that wait', async () => {
    const first = await page('/');
    expect(first).toContain('3 lots wait to be assessed again by this version of the program');
    const mark = 'Assessed by an earlier version of the program';
    expect((await page('/lots')).split(mark.toLowerCase())).toHaveLength(4);
    expect(await page('/lots/L-B')).toContain(mark);
    expect(await page('/trend?family=PLATE&characteristic=rm')).toContain(mark);
    const { text } = await lotwright('status');
    expect(text.split(mark)).toHaveLength(4);
    expect(text).toContain('3 lots wait');
    const { body } = await ask.get('/api/v1/lots/L-C');
    expect(body).toMatchObject({ ofEarlierVersion: true, assessment: { version: EARLIER_RULES } });
  });

  it('a rule that this version does not know is shown by its code and facts', async () => {
    expect(await page('/lots/L-1')).toContain('a rule of those days: made 2.');
  });

  it('looking stores nothing but that a command looked, and assesses nothing', async () => {
    const { ledger, events } = cell.services.store.read;
    const stored = async () => (await ledger.size()) - (await events.ofTypes(['read-at-machine'])).length;
    const before = await stored();
    await everywhere('L-1');
    await everywhere('L-B');
    await waitingFor('L-1');
    expect(await stored()).toBe(before);
  });
});

describe('when the service starts', () => {
  const left = () => cell.services.store.read.assessments.lotsLastAssessedByOthers(ASSESSMENT_VERSION);

  beforeAll(async () => {
    expect((await left()).sort()).toEqual(['L-1', 'L-B', 'L-C']);
    const service = await serve({ data: cell.folder.path, port: 0, host: '127.0.0.1', logFile: '/dev/null' });
    while ((await left()).length > 0) await wait(50);
    await service.close();
  });

  it('what it is to do is what other rules spoke of last', async () => {
    expect(await lotsToAssessAgain(cell.services.store.read)).toEqual([]);
  });

  it('every lot is assessed again, open and released ones, and none is frozen anew', async () => {
    const { read } = cell.services.store;
    for (const lot of ['L-1', 'L-B', 'L-C']) {
      expect((await read.lotFiles.latest(lot))!.digest).toBe(before[lot]);
      const current = (await cell.services.current.of(lot))!;
      expect(current).toMatchObject({ ofEarlierVersion: false, dossierSha256: before[lot] });
      expect(current.assessment.version).toBe(ASSESSMENT_VERSION);
    }
    expect(await page('/')).not.toContain('to be assessed again');
    expect((await lotwright('status')).text).not.toContain('earlier version');
  });

  it('every door says the same, at once', async () => {
    for (const [lot, first] of [
      ['L-1', PASSES],
      ['L-B', FAILS],
    ] as const) {
      for (const verdicts of Object.values(await everywhere(lot))) expect(verdicts).toEqual([first, PASSES]);
    }
  });

  it('a unit that was reviewed with another verdict waits for somebody who looks at the change', async () => {
    const refused =
      /L-1-I1 may not be released: another version of the rules changed what is said of it \(entry \d+ of/;
    expect(await waitingFor('L-1')).toEqual(['released: L-1-I2']);
    expect(await refusalOf(cell.release('L-1', ['L-1-I1']))).toMatch(refused);
    expect(await refusalOf(cell.release('L-1', ['L-1-I1', 'L-1-I2']))).toMatch(refused);
    const releaser = await askingAs(app, 'P-RE');
    const { text } = await releaser.get('/sign?thing=lot%20file:L-1&meaning=released');
    expect(text).toMatch(/name="units" value="L-1-I1" disabled> L-1-I1: conforms; L-1-I1 may not be released: another/);
    expect(text).toMatch(/name="units" value="L-1-I2"(?! disabled)/);
    expect(text).not.toContain('it was not signed in another state before');
    const since = /<h2 id="changes">[\s\S]*?<\/section>/.exec(text)![0];
    expect(since).toContain('L-1-I1: conforms, before does not conform; nothing holds it back any more.');
    expect(since).not.toContain('L-1-I2');
  });

  it('a verdict that changed is an event with both verdicts and the checks that came out otherwise', async () => {
    const { read } = cell.services.store;
    const events = (await read.events.ofTypes(['verdicts-changed'])).map(({ event }) => event);
    const fails = { verdict: FAILS, releasable: false };
    const passes = { verdict: PASSES, releasable: true };
    const ofLot = (lot: string) => events.filter((event) => 'lot' in event && event.lot === lot);
    expect(events).toHaveLength(2);
    expect(ofLot('L-1')).toEqual([
      {
        type: 'verdicts-changed',
        lot: 'L-1',
        dossier: before['L-1'],
        before: { assessment: expect.any(String), version: EARLIER_RULES },
        after: { assessment: (await cell.services.current.of('L-1'))!.assessmentSha256, version: ASSESSMENT_VERSION },
        implants: [{ serial: 'L-1-I1', before: fails, after: passes }],
        checks: [{ check: 'counts-balance', before: 'fails', after: 'passes' }],
      },
    ]);
    expect(ofLot('L-B')).toMatchObject([
      {
        implants: [{ serial: 'L-B-I1', before: passes, after: fails }],
        checks: [{ check: 'acceptance', before: 'passes', after: 'fails' }],
      },
    ]);
  });

  it('a release stays as it was signed, and the changed verdict stands beside it', async () => {
    const line = await cell.services.overview.of('L-B');
    expect(line.units.map(({ decision }) => decision)).toEqual(['released', 'released']);
    expect(line).toMatchObject({ closed: true, state: 'released for distribution' });
    const first = await page('/');
    expect(first).toContain(
      'L-B-I1: does not conform, before conforms; by these rules it would be held back from release.',
    );
    expect(first).toContain('Released: L-B-I1.');
    expect(await page('/lots/L-B')).toContain(
      'Verdict changed by another version of the program. L-B-I1: does not conform, before conforms',
    );
  });

  it('assessing a lot again, or starting again, stores nothing more', async () => {
    const size = await cell.services.store.read.ledger.size();
    await cell.services.assessor.assess('L-C', 'local:tester');
    await cell.services.assessor.assessAgain('L-B', 'local:tester');
    const troubles: string[] = [];
    await app.get(Reassessor).run((says) => troubles.push(says));
    expect(troubles).toEqual([]);
    // L-C gets its rows for trends, which those days did not write here.
    const entries = await cell.services.store.read.ledger.page(size);
    expect(entries.map(({ body }) => (JSON.parse(body) as { type: string }).type)).toEqual(['lot-summarised']);
  });
});

describe('a changed verdict is looked at', () => {
  const entryOf = async (lot: string) => (await cell.services.overview.of(lot)).changedVerdicts[0]!.entry;
  const look = async (person: string, lot: string, entries: number[], reason = 'the gauge was right') =>
    cell.services.stateActs.lookAtChanges(await cell.prove(person), lot, entries, reason);

  it('by a quality engineer, who says what follows, and by its entry', async () => {
    const entry = await entryOf('L-B');
    expect(await refusalOf(look('P-OP', 'L-B', [entry]))).toContain('needs the role quality engineer');
    expect(await refusalOf(look('P-QE', 'L-B', [entry], ' '))).toContain('a reason');
    expect(await refusalOf(look('P-QE', 'L-B', [entry + 1]))).toContain(String(entry));
    expect(await refusalOf(look('P-QE', 'L-B', []))).toContain(String(entry));
    expect(await refusalOf(look('P-QE', 'L-1', [entry]))).toContain(String(await entryOf('L-1')));
  });

  it('on the page, as an act that is recorded', async () => {
    const entry = await entryOf('L-B');
    expect(await page('/lots/L-B/changed-verdicts')).toContain('I have looked at these');
    const operator = await askingAs(app, 'P-OP');
    expect((await operator.get('/lots/L-B/changed-verdicts')).text).toContain('needs the role quality engineer');
    const fields = { entries: entry, reason: 'hold placed, patient not yet treated', password: 'wrong' };
    const refused = await sendForm(ask, '/lots/L-B/changed-verdicts', fields);
    expect([refused.status, refused.text.includes('hold placed')]).toEqual([400, true]);
    const sent = await sendForm(ask, '/lots/L-B/changed-verdicts', { ...fields, password: PASSWORD });
    expect([sent.status, sent.headers.location]).toEqual([303, '/lots/L-B/changed-verdicts']);
    expect(await page('/lots/L-B/changed-verdicts')).toContain('hold placed, patient not yet treated (person:P-QE,');
    const [{ event, actor, reason }] = (await cell.services.store.read.events.ofTypes(['verdict-changes-seen'])) as [
      Awaited<ReturnType<typeof cell.services.store.read.events.ofTypes>>[number],
    ];
    expect(event).toMatchObject({ type: 'verdict-changes-seen', lot: 'L-B', entries: [entry] });
    expect([actor, reason]).toEqual(['person:P-QE', fields.reason]);
    expect(await page('/')).not.toContain('L-B-I1: does not conform, before');
    expect(await page('/lots/L-B')).toContain('Looked at by person:P-QE: hold placed');
    expect(await refusalOf(look('P-QE', 'L-B', [entry]))).toContain('there is none');
  });

  it('by command', async () => {
    const { text: status } = await lotwright('status', 'L-1');
    const entry = /changed by this version, entry (\d+), nobody has looked at it: L-1-I1/.exec(status)![1]!;
    const words = ['look-at', 'L-1', '--entries', entry, '--person', 'P-QE', '--reason', 'counted again'];
    const all = [CLI, '--data', cell.folder.path, ...words, '--password-stdin'];
    const { status: code, stdout } = spawnSync(process.execPath, all, { input: `${PASSWORD}\n`, encoding: 'utf8' });
    expect([code, stdout]).toEqual([0, `Lot L-1: looked at entries ${entry}.\n`]);
    const { events } = cell.services.store.read;
    const looked = (await events.of({ kind: 'lot', key: 'L-1' })).findLast(
      ({ event }) => event.type === 'verdict-changes-seen',
    );
    expect(looked!.actor).toBe(`person:P-QE through local:${os.userInfo().username}`);
    expect((await cell.services.overview.of('L-1')).changedVerdicts).toEqual([]);
    expect(await waitingFor('L-1')).toEqual(['released: L-1-I1, L-1-I2']);
    await cell.release('L-1', ['L-1-I1']);
    expect(await waitingFor('L-1')).toEqual(['released: L-1-I2']);
  });
});

describe('a record that is issued afterwards', () => {
  let file: string;

  beforeAll(async () => {
    ({ file } = await cell.services.issuer.issue('L-B', 'local:tester'));
  });

  it('says over the release that other rules changed the verdict since', async () => {
    const { attachments } = await readPdf(fs.readFileSync(file));
    const enclosure = Enclosure.parse(JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8')));
    expect(standsOver({ enclosure }, 'L-B-I1')).toEqual(['turned']);
    expect(standsOver({ enclosure }, 'L-B-I2')).toEqual([]);
    const changed = { what: 'verdicts-changed', units: ['L-B-I1'], turned: { implants: [{ serial: 'L-B-I1' }] } };
    expect(enclosure.states).toMatchObject([
      changed,
      { what: 'act-refused', by: 'P-OP' },
      { what: 'verdict-changes-seen', units: ['L-B-I1'] },
    ]);
  });

  withTools(['pdftotext'], 'its pages', () => {
    it('tell the change, and what was said of it', () => {
      const text = execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' }).replaceAll(/\s+/g, ' ');
      expect(text).toContain('verdict changed by other rules since; released for distribution by Xenia Example');
      expect(text).toContain('L-B-I1: does not conform, before conforms');
      expect(text).toContain('hold placed, patient not yet treated');
    });
  });

  it('verifies', async () => {
    const { answer, steps } = await verifyRecord(file, { evidence: cell.services.store.folder.evidence });
    expect(steps.filter(({ outcome }) => outcome === 'does not hold' || outcome === 'differs')).toEqual([]);
    expect(answer).toBe('issuer not compared');
  });
});

it('a program that is taken back finds what it said, and tells what changed back', async () => {
  await assessAsEarlier(cell.services, 'L-1', (assessment) => {
    failByCounts(assessment);
    assessment.version = 'ba9876543210';
  });
  const current = await cell.services.current.of('L-1');
  expect(current).toMatchObject({ ofEarlierVersion: false, assessment: { version: ASSESSMENT_VERSION } });
  for (let again = 0; again < 2; again++) await cell.services.assessor.assessAgain('L-1', 'local:tester');
  expect((await cell.services.overview.of('L-1')).changedVerdicts).toMatchObject([
    { serial: 'L-1-I1', before: { verdict: FAILS }, after: { verdict: PASSES } },
  ]);
});

it('a program looks at a changed verdict by the entry that it was told', async () => {
  const address = '/api/v1/lots/L-1/changed-verdicts';
  const { body } = await ask.get('/api/v1/lots');
  const line = (body as { lots: LotLine[] }).lots.find(({ lot }) => lot === 'L-1')!;
  const entries = line.changedVerdicts.map(({ entry }) => entry);
  const told = { entries, reason: 'counted a third time', password: PASSWORD };
  const operator = await askingAs(app, 'P-OP');
  expect((await operator.post(address).send(told)).status).toBe(403);
  expect((await ask.post(address).send({ ...told, entries: [] })).status).toBe(400);
  expect((await ask.post(address).send({ ...told, entries: ['x'] })).status).toBe(400);
  expect((await ask.post(address).send(told)).status).toBe(204);
  expect((await cell.services.overview.of('L-1')).changedVerdicts).toEqual([]);
});

it('the audit trail holds against every row', async () => {
  expect(await cell.services.store.verifyLedger()).toMatchObject({ ok: true });
});
