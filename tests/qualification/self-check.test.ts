import { createPublicKey, verify } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { programName } from '../../src/base/settings.js';
import { compareNumber, REFERENCE_NUMBERS } from '../../src/qualification/reference-numbers.js';
import { checkPlayed } from '../../src/qualification/scenario-check.js';
import { checkNumbers, keepReport, type SelfCheckResult, selfCheck } from '../../src/qualification/self-check.js';
import { temporaryFolder } from '../support/cell.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';

const ACTOR = 'local:tester';

let services: Services;
let result: SelfCheckResult;

beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('self-check'), 'data'));
  result = await (process.env.LOTWRIGHT_TEST_LONG ? selfCheck(services.store, ACTOR) : checkWithSharedDemo());
});
afterAll(() => services.store.close());

/** The self-check, but that it does not play the scenario itself. */
async function checkWithSharedDemo(): Promise<SelfCheckResult> {
  const { result: demo } = await playedDemo();
  const items = [...checkNumbers(), ...(await checkPlayed(demo, temporaryFolder('self-check')))];
  return keepReport(services.store, ACTOR, items);
}

it('holds on this machine: numbers, scenario, tampering, restore', () => {
  expect(result.report.items.filter((item) => !item.ok)).toEqual([]);
  expect(result.report.passed).toBe(true);
  const groups = new Set(result.report.items.map(({ group }) => group));
  expect([...groups]).toEqual(['reference numbers', 'scenario', 'tampering', 'restore']);
  expect(result.report.program).toBe(programName());
});

it('is kept as evidence, noted in the audit trail, and signed by the installation key', async () => {
  const { store } = services;
  expect(fs.readFileSync(await store.evidence.pathOf(result.sha256), 'utf8')).toBe(result.text);
  const { event } = (await store.read.events.ofTypes(['self-check-made'])).at(-1)!;
  expect(event).toMatchObject({ program: programName(), passed: true, failed: [], report: result.sha256 });
  const signature = Buffer.from(result.signature, 'base64');
  expect(verify(null, Buffer.from(result.text), createPublicKey(store.key.publicPem), signature)).toBe(true);
  expect(await store.verifyLedger({ files: true })).toMatchObject({ ok: true });
});

it('fails when a number is not the published one', () => {
  const [first] = REFERENCE_NUMBERS;
  expect(compareNumber(first!)).toMatchObject({ ok: true });
  expect(compareNumber({ ...first!, published: '10000003' })).toMatchObject({ ok: false });
  const rounded = REFERENCE_NUMBERS.find(({ calculation }) => calculation === 'round')!;
  expect(compareNumber({ ...rounded, published: '12.4' })).toMatchObject({ ok: false });
});
