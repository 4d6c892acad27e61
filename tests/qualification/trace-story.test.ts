import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { createApplication } from '../../src/main.js';
import { rawFilesOf } from '../../src/trace/raw-files.js';
import { recallStanding } from '../../src/trace/recall-standing.js';
import { playedDemo } from '../support/played-demo.js';
import type { Asking } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';

/** What the demo tells of traces: a heat in three states of powder, a balance that drifted, and a drill. */
let services: Services;
let auditor: { person: string; password: string };
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
  const lines = fs.readFileSync(path.join(result.folder, 'people.txt'), 'utf8').split('\n');
  const [, person, password] = lines.map((line) => /^(\S+)\s+(\S+)\s{2,}.*auditor/.exec(line)).find((row) => row)!;
  auditor = { person: person!, password: password! };
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
  expect(
    Object.fromEntries(heat.inStates.map(({ state, fraction }) => [state, Number(fraction.toFixed(12))])),
  ).toMatchObject({
    ...{ 'PS-01': 1, 'PS-02': 0.48, 'PS-03': 0.477 },
  });
  const forward = heat.units.find((unit) => unit.serial === serial)!.shares;
  expect(forward.length).toBeGreaterThan(0);
  for (const { fraction } of forward) expect(fraction).toBeCloseTo(share, 12);
  const { back, powder } = await matchOf(serial, 'implant');
  expect(back!.map(({ kind, key }) => `${kind} ${key}`)).toContain('heat SILBERBACH:H7731');
  const fractions = powder.flatMap(({ shares }) => shares.filter(({ receipt }) => receipt === 'R-101'));
  for (const { fraction } of fractions) expect(fraction).toBeCloseTo(share, 12);
  expect(fractions.length).toBeGreaterThan(0);
});

it('counts the plates of a heat that left, with what became of each', async () => {
  const { balance, units } = await matchOf('H8120', 'heat');
  expect(balance).toBe(
    '10 made = 3 handed over (1 with the institution, 1 implanted, 1 returned) + 5 in stock + 2 scrapped; unaccounted 0',
  );
  expect(units.filter(({ place }) => /implanted|institution|returned/.test(place))).toMatchObject([
    { serial: 'CP-31-1', place: 'implanted', holder: expect.stringContaining('Fjordside Clinic') },
    { serial: 'CP-31-2', place: 'with the institution' },
    { serial: 'CP-32-3', place: 'returned, on hold', holder: 'the cell' },
  ]);
});

describe('an auditor who picks a serial', () => {
  let app: NestExpressApplication;
  let get: Asking;
  beforeAll(async () => {
    app = await createApplication(services.store);
    const { status, headers, body } = await request(app.getHttpServer()).post('/api/v1/session').send(auditor);
    expect(status).toBe(200);
    const [cookie] = headers['set-cookie'] as unknown as string[];
    get = request.agent(app.getHttpServer()).set('Cookie', cookie!.split(';')[0]!).set('X-CSRF-Token', body.csrf);
  });
  afterAll(() => app.close());

  /** Addresses that a page leads to from its own content. */
  const linksOf = (page: string): string[] => {
    const main = page.slice(page.indexOf('<main'), page.indexOf('</main>'));
    return [...main.matchAll(/href="([^"#]+)"/g)].map(([, href]) => href!.replaceAll('&amp;', '&'));
  };

  const keyOf = (href: string): string[] => {
    const found = /^\/find\?id=([^&]+)$/.exec(href);
    return found === null ? [] : [decodeURIComponent(found[1]!)];
  };
  const METAL = ['heat', 'receipt', 'powder-state'];

  it('reaches all of its metal, people, instruments and raw files in two clicks', async () => {
    const serials = (await services.store.read.entries.list('implant')).map(({ key }) => key);
    const picked = process.env.LOTWRIGHT_TEST_LONG ? serials : ['BP-203-1', 'BP-215-2', 'CP-33-4', serials.at(-1)!];
    for (const serial of picked) {
      const match = await matchOf(serial, 'implant');
      const wanted = [...match.back!, ...match.forward!].filter(({ kind }) =>
        [...METAL, 'person', 'instrument', 'build'].includes(kind),
      );
      const first = linksOf((await get.get(`/find?id=${serial}`)).text);
      const second: string[] = [];
      for (const more of first.filter((href) => href.startsWith('/find/rows?')))
        second.push(...linksOf((await get.get(more)).text));
      const reached = new Set([...first, ...second].flatMap(keyOf));
      expect([serial, wanted.filter(({ key }) => !reached.has(key)).map(({ key }) => key)]).toEqual([serial, []]);
      const raw = await rawFilesOf(services.store.read, match);
      const shown = first.flatMap((href) => /^\/evidence\/([0-9a-f]{64})$/.exec(href)?.[1] ?? []);
      expect([serial, shown.sort()]).toEqual([serial, raw.map(({ sha256 }) => sha256).sort()]);
      const isMade = match.balance !== '0 made; unaccounted 0';
      if (isMade) {
        const kinds = new Set<string>(wanted.map(({ kind }) => kind));
        expect([serial, ...['heat', 'person', 'instrument'].map((kind) => kinds.has(kind)), raw.length > 0]).toEqual([
          ...[serial, true, true, true, true],
        ]);
      }
    }
    const [file] = linksOf((await get.get(`/find?id=${picked[0]}`)).text).filter((href) =>
      href.startsWith('/evidence/'),
    );
    const { status, headers } = await get.get(file!);
    expect([status, Number(headers['content-length']) > 0]).toEqual([200, true]);
    expect((await get.get('/find?id=SILBERBACH%3AH7731')).text).toContain('Where its implants are');
  });
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
