import fs from 'node:fs';
import path from 'node:path';
import { digestOf } from '../../src/dossier/canonical.js';
import type { LogFinding } from '../../src/dossier/schema.js';
import { createApplication } from '../../src/main.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { PdfObjects } from '../support/pdf-objects.js';
import { provedActs } from '../support/people.js';
import { askingAs } from '../support/service.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

/** One noisy log: 5 000 findings in one lot, of the same few causes, and one of its own kind. */
const SPIKES = 4999;
const BUILD = 'M1-101';

let cell: SigningCell;

function spike(number: number): LogFinding {
  const start = Date.parse('2031-03-03T07:00:10.000Z') + number * 20;
  const action = number % 5 !== 0;
  const body = {
    ...{ build: BUILD, rule: 'excursion', level: action ? ('action' as const) : ('alert' as const) },
    ...{ channel: number % 2 === 0 ? 'oxygen' : 'moisture', ucum: '[ppm]' },
    ...{ startedAt: new Date(start).toISOString(), endedAt: new Date(start + 10).toISOString() },
    places: [
      { zone: number % 3 === 0 ? 'I1-span' : 'W1-span', layerFrom: 1 + (number % 4), layerTo: 1 + (number % 4) },
    ],
    steps: ['deposit'],
    facts: { direction: 'high' as const, worst: 60 + (number % 7), limit: 50, durationMs: 10, rows: 1 },
  };
  return { id: digestOf(body), ...body };
}

const gap: LogFinding = (() => {
  const body = {
    ...{ build: BUILD, rule: 'gap', level: 'action' as const, channel: null, ucum: null },
    ...{ startedAt: '2031-03-03T07:01:55.000Z', endedAt: '2031-03-03T07:01:59.000Z' },
    places: [{ zone: 'I2-span', layerFrom: 4, layerTo: 4 }],
    steps: ['deposit'],
    facts: { durationMs: 4000 },
  };
  return { id: digestOf(body), ...body };
})();

beforeAll(async () => {
  cell = await SigningCell.open();
  const { store } = cell.services;
  const [log] = await store.read.logs.ofLot('L-1');
  const findings = [...Array.from({ length: SPIKES }, (_, number) => spike(number)), gap];
  const facts = { ...log!.facts, planSha256: '1'.repeat(64) };
  await store.change('local:tester', (change) =>
    change.logs.add('L-1', { files: [facts], part: { ...log!.part, findings }, summaries: [] }),
  );
});
afterAll(() => cell.close());

const assess = async () => (await cell.services.assessor.assess('L-1', 'local:tester')).assessment;
const waiting = async () =>
  (await cell.services.waiting.all()).filter(({ lot, meaning }) => lot === 'L-1' && meaning === 'decided');

it('is assessed by what is alike, every finding counted', async () => {
  const assessment = await assess();
  expect(assessment.units.map(({ verdict }) => verdict)).toEqual(['cannot be decided', 'cannot be decided']);
  const { findings, basis } = assessment.checks.find(({ code }) => code === 'log-findings-decided')!;
  // Oxygen and moisture, on implant 1 and on coupon 1; alerts act on nothing.
  expect(findings).toHaveLength(4);
  const members = findings.map(({ facts }) => Number(facts.members));
  expect(members.reduce((sum, count) => sum + count)).toBe(Math.floor((SPIKES * 4) / 5));
  expect(basis).toEqual({ reject: '0', action: String(Math.floor((SPIKES * 4) / 5)), alert: '1000' });
});

it('shows few lines on the page of the lot and in its answer, and every finding by itself where it leads', async () => {
  const app = await createApplication(cell.services.store);
  try {
    await app.init();
    const ask = await askingAs(app, 'P-QE');
    const { text: html, status } = await ask.get('/lots/L-1/build');
    expect(status).toBe(200);
    expect(html.match(/<tr id="finding-/g)).toHaveLength(9);
    expect(html).toMatch(/findings alike: excursion of oxygen to 66 ppm \(action level 50\), \d+ times/);
    const acting = (await assess()).checks.find(({ code }) => code === 'log-findings-decided')!.findings;
    const most = acting.reduce((one, other) => (Number(other.facts.members) > Number(one.facts.members) ? other : one));
    const href = `/lots/L-1/findings/${most.subjects[0]!.key}`;
    expect(html).toContain(`href="${href}"`);
    const first = await ask.get(href);
    expect(first.text.match(/<tr>\s*<td class="number" data-label="Number">/g)).toHaveLength(200);
    const last = await ask.get(`${href}?from=201`);
    expect(last.text).toContain('<td class="number" data-label="Number">201</td>');
    const { text: csv } = await ask.get('/lots/L-1/findings.csv');
    expect(csv.trimEnd().split('\n')).toHaveLength(1 + SPIKES + 1);
    expect((await ask.get(`/lots/L-1/findings/${'0'.repeat(64)}`)).status).toBe(404);
    // Each has a picture of what the log showed around it: the group, and one of it by its first digits.
    for (const id of [most.subjects[0]!.key, csv.split('\n')[2]!.split(',')[1]!.slice(0, 12)]) {
      const picture = await ask.get(`/lots/L-1/findings/${id}/picture.svg`);
      expect([picture.status, picture.type]).toEqual([200, 'image/svg+xml']);
    }
    expect((await ask.get(`/lots/L-1/findings/${'0'.repeat(12)}/picture.svg`)).status).toBe(404);
    expect((await ask.get('/lots/L-1/logs/M1-101')).status).toBe(200);
  } finally {
    await app.close();
  }
});

it('is decided once for all that is alike, by two people, and conforms then', async () => {
  const things = [...new Set((await waiting()).map(({ thing }) => thing))];
  expect(things.filter((thing) => thing.startsWith('log finding group:L-1:'))).toHaveLength(4);
  expect(things.filter((thing) => thing.startsWith('log finding:'))).toHaveLength(1);
  const member = spike(3);
  expect(await refusalOf(cell.decide('P-PE', [`log finding:${member.id.slice(0, 12)}#${member.id}`]))).toMatch(
    /it is one of \d+ that are alike and decided together, as log finding group:L-1:[0-9a-f]{12}/,
  );
  // What the checks found is another kind, and another act.
  const [ofLog, ofChecks] = ['log finding', 'check finding'].map((kind) =>
    things.filter((thing) => thing.startsWith(kind)),
  );
  const decide = async (person: string) => {
    await cell.decide(person, ofLog!);
    if (ofChecks!.length > 0) await cell.decide(person, ofChecks!);
  };
  await decide('P-PE');
  expect((await assess()).units[0]!.verdict).toBe('cannot be decided');
  await decide('P-QE');
  const now = await assess();
  expect(now.checks.find(({ code }) => code === 'log-findings-decided')).toMatchObject({ outcome: 'passes' });
  expect(now.units.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
  expect(await waiting()).toEqual([]);
  // Whoever decided on a group decided on a finding of this lot.
  await provedActs(cell.services).giveRole('P-AD', 'P-QE', 'releaser', 'a second role');
  await cell.review('L-1');
  expect(await refusalOf(cell.release('L-1', ['L-1-I1'], 'P-QE'))).toContain('P-QE');
  await provedActs(cell.services).takeRole('P-AD', 'P-QE', 'releaser', 'the test is over');
});

it('gives a record that says how many, attaches each finding, and is assessed again from them', async () => {
  const { services } = cell;
  await cell.release('L-1', ['L-1-I1', 'L-1-I2']);
  const { file } = await services.issuer.issue('L-1', 'local:tester', {
    out: path.join(temporaryFolder('noisy'), 'record.pdf'),
  });
  const { answer, steps } = await verifyRecord(file);
  expect({ answer, steps: steps.filter(({ outcome }) => outcome === 'does not hold') }).toEqual({
    answer: 'issuer not compared',
    steps: [],
  });
  // Told one by one, 5 000 findings are hundreds of pages.
  expect(PdfObjects.read(fs.readFileSync(file)).pages().length).toBeLessThan(40);
});

it('keeps no decision when one finding of a group is another', async () => {
  const { store } = cell.services;
  const [log] = await store.read.logs.ofLot('L-1');
  const others = log!.part.findings.map((finding) =>
    finding.id === spike(3).id ? { ...finding, id: 'a'.repeat(64), facts: { ...finding.facts, rows: 2 } } : finding,
  );
  const facts = { ...log!.facts, planSha256: '2'.repeat(64) };
  const part = { ...log!.part, findings: others };
  await store.change('local:tester', (change) => change.logs.add('L-1', { files: [facts], part, summaries: [] }));
  const { checks, units } = await assess();
  const { findings } = checks.find(({ code }) => code === 'log-findings-decided')!;
  expect(findings.map(({ subjects }) => subjects[0]!.kind)).toEqual(['log finding group']);
  expect(units.map(({ verdict }) => verdict)).toEqual(['cannot be decided', 'conforms']);
});
