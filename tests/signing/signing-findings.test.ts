import { faultOfStatement } from '../../src/dossier/statement.js';
import { logText } from '../support/cell.js';
import { provedActs } from '../support/people.js';
import { addLotWithPeaks, refusalOf, SigningCell } from '../support/signing-cell.js';

const HUNDRED = 100;
/** Seconds of the log in which implant 1 of a lot is deposited in layer 1 and 3, implant 2 in layer 3, coupon 1 in layer 1. */
const [I1_LAYER_1, I1_LAYER_3, I2_LAYER_3, W1_LAYER_1] = [2, 62, 67, 12];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addLotWithPeaks(what, 'L-A', 201, { [I1_LAYER_1]: 60, [I1_LAYER_3]: 70, [W1_LAYER_1]: 25 });
    addLotWithPeaks(what, 'L-B', 202, { [I2_LAYER_3]: 120 });
    addLotWithPeaks(what, 'L-C', 203, { [I1_LAYER_1]: 61 });
    addLotWithPeaks(what, 'L-H', 204, {});
    // Two hundred half seconds in turn above and below the action limit.
    const lot = what.documents['lots/L-H/lot.yaml']!;
    Object.assign(lot.builds[0].log, { nominalPeriodMs: 500 });
    const [head, ...rows] = logText('2031-03-03', () => 8)
      .trimEnd()
      .split('\n');
    const halves = rows.flatMap((row, second) => {
      const [at, ...rest] = row.split(',');
      const half = new Date(Date.parse(at!) + 500).toISOString();
      const place = rest.slice(0, 3).join(',');
      const above = second < HUNDRED ? 60 : 8;
      return second === 120 ? [row] : [`${at},${place},${above}`, `${half},${place},8`];
    });
    what.files['lots/L-H/logs/run.csv'] = `${[head, ...halves].join('\n')}\n`;
  });
  for (const lot of ['L-A', 'L-B', 'L-C', 'L-H']) await assess(lot);
});
afterAll(() => cell.close());

const assess = async (lot: string) => (await cell.services.assessor.assess(lot, 'local:tester')).assessment;
const verdicts = async (lot: string) => (await assess(lot)).units.map(({ verdict }) => verdict);

describe('a finding at action level, by the check log-findings-decided', () => {
  it('needs a process and a quality engineer, two people, and covers its unit alone', async () => {
    const findings = await cell.logFindings('L-A', 'action');
    expect(findings).toHaveLength(2);
    expect(await verdicts('L-A')).toEqual(['cannot be decided', 'conforms']);
    expect(await refusalOf(cell.decide('P-RE', findings))).toContain('needs the role process engineer or quality');
    const signed = await cell.decide('P-PE', findings);
    expect(signed.statement.outcome).toBe('accepted');
    expect(signed.statement.subjects.map(({ digest }) => digest)).toEqual(
      findings.map((thing) => thing.split('#')[1]).sort(),
    );
    expect(await verdicts('L-A')).toEqual(['cannot be decided', 'conforms']);
    expect(await refusalOf(cell.decide('P-PE', findings))).toContain('it takes two people, and P-PE did');
    await provedActs(cell.services).giveRole('P-AD', 'P-PE', 'quality engineer', 'a second role');
    expect(await refusalOf(cell.decide('P-PE', findings))).toContain('it takes two people, and P-PE did');
    await provedActs(cell.services).takeRole('P-AD', 'P-PE', 'quality engineer', 'the test is over');
    await cell.decide('P-QE', findings);
    expect(await verdicts('L-A')).toEqual(['conforms', 'conforms']);
    await cell.review('L-A');
    await cell.release('L-A', ['L-A-I1', 'L-A-I2']);
  });

  it('leads from whoever decided it to the implants that it touches, and from them back', async () => {
    const trace = async (id: string) => (await cell.services.tracer.trace(id)).matches[0]!;
    const decided = expect.objectContaining({ kind: 'act', name: expect.stringContaining('decided by P-PE') });
    expect((await trace('L-A-I1')).back).toContainEqual(decided);
    expect((await trace('L-A-I2')).back).not.toContainEqual(decided);
    const met = (await trace('P-PE')).forward!.map(({ key }) => key);
    expect(met).toContain('L-A-I1');
    expect(met).not.toContain('L-A-I2');
  });

  it('is rejected when one of the two rejects it', async () => {
    const findings = await cell.logFindings('L-C', 'action');
    await cell.decide('P-PE', findings);
    await cell.decide('P-QE', findings, 'rejected');
    expect(await verdicts('L-C')).toEqual(['does not conform', 'conforms']);
    await cell.review('L-C');
    expect(await refusalOf(cell.release('L-C', ['L-C-I1']))).toContain('L-C-I1 may not be released');
    await cell.release('L-C', ['L-C-I2']);
    await cell.reject('L-C', ['L-C-I1'], 'oxygen during the first layer');
  });

  it('needs a decision and a rationale', async () => {
    const [finding] = await cell.logFindings('L-B', 'reject');
    const decide = (request: object) => cell.sign('P-QE', finding!, { meaning: 'decided', ...request });
    expect(await refusalOf(decide({ reason: 'because' }))).toContain('accepted or rejected');
    expect(await refusalOf(decide({ outcome: 'accepted', reason: ' \n' }))).toContain('a rationale');
  });
});

it('lets nobody decide an alert, which is noted', async () => {
  const [alert] = await cell.logFindings('L-A', 'alert');
  expect(await refusalOf(cell.decide('P-QE', [alert!]))).toContain('an alert is noted and needs no decision');
});

it('lets nobody accept a finding at reject level: it may be confirmed, and the unit does not conform either way', async () => {
  const findings = await cell.logFindings('L-B', 'reject');
  expect(await verdicts('L-B')).toEqual(['conforms', 'does not conform']);
  expect(await refusalOf(cell.decide('P-QE', findings))).toMatch(
    /found accepted for log finding .*; expected rejected/,
  );
  await cell.decide('P-QE', findings, 'rejected');
  expect(await verdicts('L-B')).toEqual(['conforms', 'does not conform']);
  await cell.review('L-B');
  await cell.release('L-B', ['L-B-I1']);
});

it('decides a hundred findings of one kind with one rationale and one proof of identity, by one statement', async () => {
  const findings = await cell.logFindings('L-H', 'action');
  expect(findings).toHaveLength(HUNDRED);
  const waiting = async () =>
    (await cell.services.waiting.all()).filter(({ lot, meaning }) => lot === 'L-H' && meaning === 'decided');
  const groups = [...new Set((await waiting()).map(({ thing }) => thing))].filter((thing) =>
    thing.startsWith('log finding group:'),
  );
  // On implant 1, implant 2 and each coupon.
  expect(groups).toHaveLength(4);
  const { store } = cell.services;
  const size = await store.read.ledger.size();
  const signed = await cell.decide('P-PE', groups);
  const digests = groups.map((thing) => thing.split('#')[1]!).sort();
  expect(signed.statement.subjects.map(({ digest }) => digest)).toEqual(digests);
  expect(signed.statement.reason).toBe('invented rationale');
  expect(faultOfStatement(signed, store.key.publicPem)).toBeUndefined();
  // One statement, and the act by which traces find it.
  const entries = (await store.read.ledger.page(size)).map(({ body }) => JSON.parse(body));
  expect(entries.map(({ type, kind }) => kind ?? type)).toEqual(['statement-signed', 'act']);
  // Found by whatever it covers, and once by all of it.
  for (const asked of [digests, digests.slice(-1)]) {
    expect((await store.read.signatures.on(asked)).map((one) => one.signed)).toEqual([signed]);
  }
  expect(await verdicts('L-H')).toEqual(['cannot be decided', 'cannot be decided']);
  await cell.decide('P-QE', groups);
  expect(await verdicts('L-H')).toEqual(['conforms', 'conforms']);
  expect(await waiting()).toEqual([]);
});

it('a finding is named by enough digits: with none, or with too few, nothing is signed', async () => {
  const lots = await cell.services.store.read.entries.list('lot');
  for (const { key } of lots) {
    for (const thing of [`check finding:${key}`, `check finding:${key}:a`, `log finding group:${key}:0`]) {
      const request = { meaning: 'decided', outcome: 'accepted', reason: 'invented rationale' } as const;
      expect(await refusalOf(cell.sign('P-QE', thing, request))).toMatch(/^NOT_FOUND: /);
    }
  }
});
