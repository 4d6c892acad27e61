import { recallStanding } from '../../src/trace/recall-standing.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';

/** What the demo tells of traces: a heat in three states of powder, a balance that drifted, and a drill. */
let services: Services;
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
});
afterAll(() => services.store.close());

const matchOf = async (id: string, kind: string) =>
  (await services.tracer.trace(id)).matches.find(({ entry }) => entry.kind === kind)!;

/**
 * By hand: PS-01 is of the first heat alone. PS-02 has 2400 g of PS-01 and 2600 g of the second: 0.48. PS-03 has 2100 g of PS-02,
 * 900 g of the first and 1000 g of the second: (2100 · 0.48 + 900) / 4000 = 0.477.
 */
it.each([
  ['BP-203-1', 1],
  ['BP-209-1', 0.48],
  ['BP-215-1', 0.477],
])('leads from heat H7731 to %s, and back with its share of the mass: %s', async (serial, share) => {
  const heat = await matchOf('H7731', 'heat');
  expect(heat.units.map((unit) => unit.serial)).toContain(serial);
  expect(heat.balance).toMatch(/; unaccounted 0$/);
  const { back, powder } = await matchOf(serial, 'implant');
  expect(back!.map(({ kind, key }) => `${kind} ${key}`)).toContain('heat SILBERBACH:H7731');
  const fractions = powder.flatMap(({ shares }) => shares.filter(({ receipt }) => receipt === 'R-101'));
  for (const { fraction } of fractions) expect(fraction).toBeCloseTo(share, 12);
  expect(fractions.length).toBeGreaterThan(0);
});

it('reaches metal, people, instruments and raw files from any serial in two clicks', async () => {
  const { back } = await matchOf('BP-215-1', 'implant');
  const kinds = new Set(back!.map(({ kind }) => kind));
  for (const kind of ['heat', 'receipt', 'person', 'instrument', 'machine', 'build', 'result'])
    expect(kinds).toContain(kind);
  const evidence = await services.store.read.entries.evidenceNamedBy(back!.filter(({ revision }) => revision > 0));
  expect(evidence.length).toBeGreaterThan(0);
});

it('says which implants the balance touches that was found off, which change, and where they are', async () => {
  const asked = { id: 'BAL-2', from: undefined, to: undefined, uncertainty: undefined, without: false };
  const answer = await services.impacts.of({ ...asked, bias: { value: '-0.15', ucum: 'mm/a' } });
  expect(answer.proposed).toMatch(/to calibration CAL-BAL-2-2, which found it off/);
  expect(answer.results.every(({ instrument, lot }) => instrument === 'BAL-2' && lot === 'L-2026-015')).toBe(true);
  expect(answer.units.map(({ serial, first, again, place }) => [serial, first, again, place])).toEqual([
    ['BP-215-1', 'cannot be decided', 'does not conform', 'in process'],
    ['BP-215-2', 'cannot be decided', 'does not conform', 'in process'],
  ]);
  const same = await services.impacts.of({ ...asked, bias: { value: '0', ucum: 'mm/a' } });
  expect(same.units.filter(({ flips }) => flips)).toEqual([]);
});

it('closed a drill on a heat with each of its implants found where it is on record, in less than the aim', async () => {
  const drill = await recallStanding(services.store, 'DRILL-2026-1');
  const heat = await matchOf('H8120', 'heat');
  expect(drill.units.map(({ serial }) => serial)).toEqual(heat.units.map(({ serial }) => serial));
  expect(drill.units.filter(({ differs, found }) => differs || found === '')).toEqual([]);
  expect(new Set(drill.units.map(({ where }) => where.replace(', on hold', ''))).size).toBeGreaterThanOrEqual(2);
  expect([drill.drill, drill.closed, drill.reconciled]).toEqual([true, true, '10 of 10 found, 100 %']);
  expect(drill.time).toMatch(/2\.67 h of the 4 h/);
  expect(drill.signed.length).toBeGreaterThan(0);
});
