import path from 'node:path';
import { depositedRows } from '../../src/report/deposited-rows.js';
import { gasRows } from '../../src/report/gas-rows.js';
import { metalRows } from '../../src/report/metal-rows.js';
import { powderRows } from '../../src/report/powder-rows.js';
import { touchedBy } from '../../src/report/touched-by.js';
import { thingFrom } from '../../src/signing/thing.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { temporaryFolder, writeCell } from '../support/cell.js';
import { buildPins, EXPORT, pinsPlanned, planPins } from '../support/documents/zinc-pins.js';
import { PASSWORD } from '../support/people.js';
import { openServices, type Services } from '../support/services.js';
import { signWhatCameIn } from '../support/sign-cell.js';

/** A second family by folder alone: from what was received to implants that are released, with nothing left open. */
let services: Services;
let folder: DataFolder;
const cell = pinsPlanned();
const root = temporaryFolder('pins');

const takeIn = async (at: string) => {
  folder.advanceTo(at);
  await services.intake.run(writeCell(cell, root), 'local:tester');
  await signWhatCameIn(services);
};
const sign = async (person: string, thing: string, request: object) =>
  services.signing.sign(await services.accounts.prove(person, PASSWORD), {
    things: [thingFrom(thing)],
    ...request,
  } as never);
const outcomes = async () => {
  const { assessment } = await services.assessor.assess('Z-1', 'local:tester');
  return {
    assessment,
    open: assessment.checks.flatMap(({ code, outcome, findings }) =>
      outcome === 'passes' || outcome === 'does not apply'
        ? []
        : [`${code}: ${findings.map(({ rule }) => rule).join(', ')}`],
    ),
  };
};

beforeAll(async () => {
  const data = path.join(temporaryFolder('data'), 'data');
  folder = DataFolder.createDemo(data, '2031-01-20T12:00:00Z');
  services = await openServices(folder);
});
afterAll(() => services.store.close());

it('is received, planned, allowed at risk, built, tested by an export, and released', async () => {
  await takeIn('2031-01-20T12:00:00Z');
  planPins(cell);
  await takeIn('2031-03-01T12:00:00Z');
  for (const person of ['P-PE', 'P-QE']) {
    await sign(person, 'risk-build:M1-201@1', {
      meaning: 'decided',
      outcome: 'accepted',
      reason: 'invented rationale',
    });
  }
  buildPins(cell);
  await takeIn('2031-03-05T12:00:00Z');
  const { open, assessment } = await outcomes();
  expect(open).toEqual([]);
  expect(assessment.units.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
  await sign('P-QE', 'lot file:Z-1', { meaning: 'reviewed' });
  await sign('P-RE', 'lot file:Z-1', { meaning: 'released', step: 'distribution', units: ['Z-1-I1', 'Z-1-I2'] });
  const { facts } = (await services.current.of('Z-1'))!;
  expect(facts.lot.body.implants).toHaveLength(2);
});

// ZS-3 is 600 g of R-Z1 and 400 g of R-Z2; ZS-4 is 800 g of it and 200 g of R-Z1: 0.8 × 0.6 + 0.2 = 0.68, and 0.8 × 0.4 = 0.32.
it('tells of which heats each pin is, and all that was computed of its powder', async () => {
  const { facts } = (await services.current.of('Z-1'))!;
  for (const implant of facts.lot.body.implants) {
    expect(metalRows(facts, implant).map(({ heats, percent }) => [heats.join(), percent])).toEqual([
      ['Z77', '68.0'],
      ['Z81', '32.0'],
    ]);
  }
  // What was thrown away, and what purged the machine, is no ancestor of the lot.
  expect(
    powderRows(facts).map(({ state, cameOut, virgin, reuseCycle }) => [state, cameOut, virgin, reuseCycle]),
  ).toEqual(
    expect.arrayContaining([
      ['ZS-2', '990 g, 10 g lost', '100.0 %', '0'],
      ['ZS-4', '1000 g', '100.0 %', '0'],
    ]),
  );
});

// Certified: 0.68 × 1.04 + 0.32 × 0.94 = 1.008 %, u = √((0.68 × 0.02)² + (0.32 × 0.02)²) = 0.01503. Found: 0.92 %,
// u = √(2 × 0.012²) / 2 = 0.008485. Change −0.088 %, u = 0.01726: magnesium burnt off.
it('tells what burnt off on the way, the gas that was changed, and what touched the surface', async () => {
  const { facts } = (await services.current.of('Z-1'))!;
  const [magnesium] = depositedRows(facts);
  expect(magnesium).toMatchObject({
    certified: '1.008 (0.015)',
    deposited: '0.9200 (0.0085); mean of 2 values, Z-1-W1, Z-1-W2',
    change: '−0.088 (0.017), −8.73 %: lost on the way',
  });
  expect(gasRows(facts).map(({ gas }) => gas)).toEqual(['R-A, argon', 'R-C, bottle B-7, argon']);
  const surface = facts.specification.body.characteristics.find(({ characteristic }) => characteristic === 'sfe')!;
  expect(touchedBy(facts, surface)).toEqual(['tip TIP-7 of carbide-tip, 5 of 5 uses so far']);
  expect(facts.results.filter(({ file }) => EXPORT.endsWith(file))).toHaveLength(4);
});
