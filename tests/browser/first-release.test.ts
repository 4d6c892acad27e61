import { setTimeout as sleep } from 'node:timers/promises';
import { SiteZone, systemClock } from '../../src/base/clock.js';
import type { Cell } from '../support/cell.js';
import { buildNow, cellOfToday } from '../support/cell-of-today.js';
import { CellOnPages, type Member } from '../support/cell-on-pages.js';
import { withTool } from '../support/tools.js';
import { issueAndVerify } from '../support/verified-record.js';

/** Five people in all. The first of them keeps the accounts and runs the machine; the quality engineer looks first. */
const MEMBERS: readonly Member[] = [
  { person: 'P-OP', name: 'Ovid Example', role: 'administrator', password: 'one quiet lantern of brass' },
  { person: 'P-QE', name: 'Quentin Example', role: 'quality engineer', password: 'two quiet lanterns of tin' },
  { person: 'P-RE', name: 'Rita Example', role: 'releaser', password: 'three quiet lanterns of zinc' },
  { person: 'P-PE', name: 'Pia Example', role: 'process engineer', password: 'four quiet lanterns of iron' },
  { person: 'P-AN', name: 'Ana Example', role: 'analyst', password: 'five quiet lanterns of lead' },
];
const UNITS = ['L-1-I1', 'L-1-I2'];

const WHAT = 'a fresh installation of five people reaches units that are released and sent, without scripts';

/** The ways of nine people stand in days.test.ts. */
function walk(): void {
  let site: CellOnPages;
  beforeAll(async () => {
    site = await CellOnPages.open({ width: 1280, scripts: false, byKeys: false }, MEMBERS);
  });
  afterAll(() => site?.close());
  const cell = cellOfToday();

  it('makes five people on the pages, each with a password that nobody else knows', () => site.makeAccounts());

  it('brings the site in, and everybody signs what the first page lists for them', async () => {
    const only = <T>(from: Record<string, T>) =>
      Object.fromEntries(Object.entries(from).filter(([name]) => !name.startsWith('lots/')));
    const ofSite: Cell = { documents: only(cell.documents), sheets: {}, files: only(cell.files) };
    await site.bringIn('P-PE', ofSite);
    await site.everybodySigns();
    for (const { person } of MEMBERS) {
      const { page } = site.hand(person);
      await page.goto(site.url);
      expect(await page.$('main a[href^="/sign?"]')).toBeNull();
      expect(await page.$('text=/Nobody may .* at present/')).toBeNull();
    }
  });

  it('builds, measures and signs a lot', async () => {
    const { measuredAt } = buildNow(cell);
    await sleep(Math.max(0, measuredAt - systemClock.now().getTime()));
    await site.bringIn('P-AN', cell);
    await site.everybodySigns();
    await site.checkFolder();
    await site.assess('P-QE', 'L-1');
    const { page } = site.hand('P-QE');
    expect(await page.textContent('main')).toContain('2 may be released');
    expect(await page.$('text=What stands in the way')).toBeNull();
  });

  it('reviews and releases it, and issues a record that anybody can verify', async () => {
    expect(await site.signNext('P-RE', ['released'])).toBe(false);
    expect(await site.signNext('P-QE', ['reviewed'])).toBe(true);
    expect(await site.signNext('P-RE', ['released'])).toBe(true);
    const { page } = site.hand('P-RE');
    await page.goto(`${site.url}/lots/L-1`);
    for (const serial of UNITS) expect(await page.textContent('main')).toContain(serial);
    const decided = await issueAndVerify(site, 'P-RE', 'L-1', UNITS);
    expect(decided).toEqual([
      ['reviewed', 'P-QE', []],
      ['released', 'P-RE', UNITS],
    ]);
  });

  it('hands the released units over', async () => {
    const now = new SiteZone(systemClock).local(systemClock.now().toISOString())!;
    await site.handOver('P-AN', 'P-OP', now, UNITS);
    const { page } = site.hand('P-AN');
    await page.goto(`${site.url}/lots/L-1`);
    expect(await page.textContent('#places ~ table, #places ~ p')).toMatch(/2 made = 2 /);
    for (const serial of UNITS) expect(await page.textContent('main')).toContain(serial);
    expect(await page.textContent('main')).toContain('Clinic of the invented valley');
  });
}

if (process.env.LOTWRIGHT_TEST_LONG) withTool('chromium', WHAT, walk);
else describe.skip(`${WHAT} (npm run test:long)`, walk);
