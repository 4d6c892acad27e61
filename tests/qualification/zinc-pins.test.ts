import path from 'node:path';
import { unitStatesOf } from '../../src/lots/unit-decisions.js';
import { PIN_EXPORT, PIN_LOT, PINS } from '../../src/qualification/pins/pin-lot.js';
import { depositedRows } from '../../src/report/deposited-rows.js';
import { gasRows } from '../../src/report/gas-rows.js';
import { metalRows } from '../../src/report/metal-rows.js';
import { powderRows } from '../../src/report/powder-rows.js';
import { touchedBy } from '../../src/report/touched-by.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';

/** A second family on the machine of the first, by folders alone: from what was received to pins that are released. */
let services: Services;
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
});
afterAll(() => services.store.close());

const assessed = async () => (await services.current.of(PIN_LOT))!;

it('was planned, allowed at risk, built, tested by an export and released, with nothing left open', async () => {
  const { assessment, facts } = await assessed();
  const open = assessment.checks.filter(({ outcome }) => outcome !== 'passes' && outcome !== 'does not apply');
  expect(open.map(({ code }) => code)).toEqual([]);
  const states = await unitStatesOf(services.store.read, PIN_LOT, PINS);
  expect(states.map(({ decision, releasedFor, hold }) => [decision, releasedFor, hold])).toEqual(
    PINS.map(() => ['released', ['distribution'], null]),
  );
  // Process and quality allowed it before the chamber closed; the receipt was accepted after the build.
  const [build] = facts.lot.body.builds;
  const decided = facts.signatures
    .map(({ statement }) => statement)
    .filter(({ subjects }) => subjects.some(({ kind }) => kind === 'risk-build'));
  expect(decided.map(({ person }) => person.role).sort()).toEqual(['process engineer', 'quality engineer']);
  for (const { at } of decided) expect(Date.parse(at)).toBeLessThan(Date.parse(build!.closedAt));
  const receipt = facts.receipts.get('R-142')!.body;
  expect(Date.parse(receipt.acceptance!.at)).toBeGreaterThan(Date.parse(build!.openedAt));
});

it('asked of its story what no other lot of the demo is asked', async () => {
  const { assessment } = await assessed();
  const passed = new Map(assessment.checks.map(({ code, outcome, basis }) => [code, outcome === 'passes' && basis]));
  expect(passed.get('changeover-done')).toMatchObject({ builds: 'HC-1-301: CO-1' });
  for (const code of ['risk-build-signed', 'consumables-within-limit', 'powder-balance', 'deposited-metal-known'])
    expect([code, passed.get(code) !== false]).toEqual([code, true]);
});

// PS-Z3 is 600 g of R-141 and 400 g of R-142; PS-Z4 is 800 g of it and 200 g of R-141: 0.8 × 0.6 + 0.2 = 0.68, and 0.8 × 0.4 = 0.32.
it('tells of which heats each pin is, and all that was computed of its powder', async () => {
  const { facts } = await assessed();
  for (const implant of facts.lot.body.implants) {
    expect(metalRows(facts, implant).map(({ heats, percent }) => [heats.join(), percent])).toEqual([
      ['Z77', '68.0'],
      ['Z81', '32.0'],
    ]);
  }
  // What was thrown away, and what purged the machine, is no ancestor of the lot.
  expect(
    powderRows(facts).map(({ state, cameOut, virgin, reuseCycle }) => [state, cameOut, virgin, reuseCycle]),
  ).toEqual([
    ['PS-Z1', '3000 g', '100.0 %', '0'],
    ['PS-Z2', '990 g, 10 g lost', '100.0 %', '0'],
    ['PS-Z3', '1000 g', '100.0 %', '0'],
    ['PS-Z4', '1000 g', '100.0 %', '0'],
  ]);
});

// Certified: 0.68 × 1.04 + 0.32 × 0.94 = 1.008 %, u = √((0.68 × 0.02)² + (0.32 × 0.02)²) = 0.01503. Found: 0.92 %,
// u = √(2 × 0.012²) / 2 = 0.008485. Change −0.088 %, u = 0.01726: magnesium burnt off. Iron: below 0.68 × 10 + 0.32 × 12 = 10.64 ppm
// went in, and the validation showed 18 ppm more.
it('tells what burnt off on the way and what was taken up, the gas that was changed, and what touched the surface', async () => {
  const { facts } = await assessed();
  const [magnesium, iron] = depositedRows(facts);
  expect(magnesium).toMatchObject({
    certified: '1.008 (0.015)',
    deposited: '0.9200 (0.0085); mean of 2 values, ZW301-1, ZW301-2',
    change: '−0.088 (0.017), −8.73 %: lost on the way',
  });
  expect(iron).toMatchObject({
    certified: 'between 0 and 10.64',
    deposited: expect.stringMatching(
      /^between 18 and 28\.64 \(4\.0\); no coupon analysed: PV-3 rev 1, .* 28 of 365 days old/,
    ),
    change: '18.0 (4.0): taken up on the way',
  });
  expect(gasRows(facts).map(({ gas }) => gas)).toEqual(['R-118, argon', 'R-145, bottle B-7, argon']);
  const surface = facts.specification.body.characteristics.find(({ characteristic }) => characteristic === 'sfe')!;
  expect(touchedBy(facts, surface)).toEqual(['tip TIP-7 of carbide-tip, 5 of 5 uses so far']);
  const exported = facts.results.filter(({ file }) => file === PIN_EXPORT);
  expect(exported).toHaveLength(4);
  expect(facts.evidence.map(({ fileName }) => path.posix.basename(fileName))).toContain(
    path.posix.basename(PIN_EXPORT),
  );
});
