import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { parse } from 'yaml';
import { SiteZone, systemClock } from '../../src/base/clock.js';
import { PROGRAM_ROOT, PROGRAM_VERSION, programBuild } from '../../src/base/settings.js';
import type { Statement } from '../../src/dossier/statement.js';
import { type RunningService, serve } from '../../src/main.js';
import { openBrowser, patientContext } from '../support/browser.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices } from '../support/services.js';
import { trainDeciders } from '../support/signing-cell.js';
import { withTool } from '../support/tools.js';
import { until } from '../support/until.js';

const CLI = fileURLToPath(new URL('../../dist/cli.js', import.meta.url));
const DAY_MS = 86_400_000;
const LOG_PERIOD_MS = 25;
const LOG_ROWS = 121;
const MOST_ROUNDS = 12;

/** Five people in all. The first of them keeps the accounts and runs the machine; the quality engineer looks first. */
const ADMINISTRATOR = { person: 'P-OP', name: 'Ovid Example', password: 'one quiet lantern of brass' };
const OTHERS = [
  { person: 'P-QE', name: 'Quentin Example', role: 'quality engineer', password: 'two quiet lanterns of tin' },
  { person: 'P-RE', name: 'Rita Example', role: 'releaser', password: 'three quiet lanterns of zinc' },
  { person: 'P-PE', name: 'Pia Example', role: 'process engineer', password: 'four quiet lanterns of iron' },
  { person: 'P-AN', name: 'Ana Example', role: 'analyst', password: 'five quiet lanterns of lead' },
];
const UNITS = ['L-1-I1', 'L-1-I2'];

/** The cell of the other tests with its days moved, so that its lot is built today. */
function cellOfToday(): Cell {
  const cell = makeCell();
  trainDeciders(cell);
  const today = systemClock.now().toISOString().slice(0, 10);
  const days = Math.round((Date.parse(today) - Date.parse('2031-03-03')) / DAY_MS);
  const moved = (day: string) => new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);
  return JSON.parse(JSON.stringify(cell).replaceAll(/\b20\d\d-\d\d-\d\d/g, moved)) as Cell;
}

/** Nobody releases anything before the cell has accepted this very program. */
function thisProgram(): Cell['documents'][string] {
  const starter = path.join(PROGRAM_ROOT, 'templates', 'starters', 'program-version.yaml');
  return { ...parse(fs.readFileSync(starter, 'utf8')), version: PROGRAM_VERSION, build: programBuild() };
}

/** Lets the lot be built from now on, in three seconds, and be measured right after. Times are those of this machine. */
function buildNow(cell: Cell): { measuredAt: number } {
  const closedAt = Math.ceil(systemClock.now().getTime() / 1000) * 1000;
  const time = (afterMs: number) => new Date(closedAt + afterMs).toISOString();
  const lot = cell.documents['lots/L-1/lot.yaml']!;
  const [build] = lot.builds;
  Object.assign(build, { closedAt: time(0), openedAt: time((LOG_ROWS - 1) * LOG_PERIOD_MS) });
  Object.assign(build.log, { nominalPeriodMs: LOG_PERIOD_MS, gapLimitMs: 3 * LOG_PERIOD_MS });
  lot.opened.at = time(-1000);
  const [head, ...rows] = cell.files['lots/L-1/logs/run.csv']!.trimEnd().split('\n');
  const timed = rows.map((row, index) => [time(index * LOG_PERIOD_MS), ...row.split(',').slice(1)].join(','));
  cell.files['lots/L-1/logs/run.csv'] = `${[head, ...timed].join('\n')}\n`;
  const finished = (rowsLater: number) => ({ at: time((LOG_ROWS + rowsLater) * LOG_PERIOD_MS), by: 'P-OP' });
  lot.steps = [
    { step: 'clean', ...finished(1) },
    { step: 'pack', ...finished(2) },
  ];
  lot.labels = { printed: 2, used: 2, destroyed: 0, inspected: { sample: 2, ...finished(3) } };
  const measuredAt = (LOG_ROWS + 9) * LOG_PERIOD_MS;
  for (const rowsOfSheet of Object.values(cell.sheets)) {
    for (const row of rowsOfSheet) row.measuredAt = time(measuredAt);
  }
  return { measuredAt: closedAt + measuredAt };
}

/** How the pages are used: in what window, with scripts or without, and whether all is reached and pressed by keys. */
interface Way {
  readonly width: number;
  readonly scripts: boolean;
  readonly byKeys: boolean;
}

/** Stops of the tabulator key on the longest page that is walked. */
const MOST_STOPS = 300;

const declare =
  ({ width, scripts, byKeys }: Way) =>
  () => {
    let folder: string;
    let service: RunningService;
    let browser: Browser;
    const pages = new Map<string, Page>();

    beforeAll(async () => {
      folder = path.join(temporaryFolder('first-release'), 'data');
      service = await serve({ data: folder, port: 0, host: '127.0.0.1' });
      browser = await openBrowser();
    });
    afterAll(async () => {
      await browser?.close();
      await service?.close();
    });

    const newPage = async () => {
      const viewport = { width, height: width === 390 ? 844 : 800 };
      return (await patientContext(browser, { javaScriptEnabled: scripts, viewport })).newPage();
    };
    const heading = (page: Page) => page.textContent('h1');

    /** Goes on by the tabulator key from the top of the page to the first element of this sort. */
    async function goTo(page: Page, selector: string): Promise<void> {
      const target = page.locator(selector).first();
      await page.evaluate('document.activeElement?.blur(); window.getSelection()?.removeAllRanges()');
      for (let stops = 0; stops < MOST_STOPS; stops++) {
        await page.keyboard.press('Tab');
        if (await target.evaluate((element) => element === element.ownerDocument.activeElement)) return;
      }
      throw new Error(`no tabulator key leads to ${selector} of ${page.url()}`);
    }
    const submit = async (page: Page, button: string) => {
      if (byKeys) await goTo(page, button);
      await Promise.all([page.waitForEvent('load'), byKeys ? page.keyboard.press('Enter') : page.click(button)]);
    };
    /** Days and moments are set whole: how their parts are typed differs from browser to browser. */
    async function fill(page: Page, field: string, text: string): Promise<void> {
      if (!byKeys || /^\d{4}-\d\d-\d\d/.test(text)) return page.fill(field, text);
      await goTo(page, field);
      await page.keyboard.type(text);
    }
    async function choose(page: Page, field: string, option: string): Promise<void> {
      if (!byKeys) await page.selectOption(field, option);
      else {
        await goTo(page, field);
        await page.keyboard.type(option);
      }
      expect(await page.inputValue(field)).toBe(option);
    }
    async function tick(page: Page, boxes: string): Promise<void> {
      for (const box of await page.$$(boxes)) {
        if (!byKeys) await box.check();
        else {
          await box.focus();
          await page.keyboard.press('Space');
        }
        expect(await box.isChecked()).toBe(true);
      }
    }
    const pageOf = (person: string): Page => pages.get(person)!;
    const passwordOf = (person: string) => [ADMINISTRATOR, ...OTHERS].find((one) => one.person === person)!.password;

    async function setPassword(page: Page, link: string, password: string): Promise<void> {
      if (page.url() !== link) await page.goto(link);
      await fill(page, '#password', password);
      await fill(page, '#repeated', password);
      await submit(page, 'main button');
      expect(await heading(page)).toBe('Your password is set');
    }

    async function signIn(page: Page, person: string): Promise<void> {
      await page.goto(`${service.url}/sign-in`);
      await fill(page, '#person', person);
      await fill(page, '#password', passwordOf(person));
      await submit(page, 'main button');
      pages.set(person, page);
    }

    /** Sends a folder, looks at what would be stored, and stores it. */
    async function bringIn(person: string, cell: Cell): Promise<void> {
      const page = pageOf(person);
      await page.goto(`${service.url}/intake`);
      await page.setInputFiles('#folder', writeCell(cell));
      await submit(page, 'form.bring-in button');
      await until(() => /\/intake\/staged\/|\/jobs\//.test(page.url()));
      await atEndOfJob(page);
      await until(async () => {
        if (await page.$('main form[action$="/store"]')) return true;
        await page.goto(page.url());
        return null;
      });
      await submit(page, 'main form[action$="/store"] button');
      await atEndOfJob(page);
      expect(await page.textContent('main')).toContain('What now waits');
    }

    /** A page of work that takes long leads on by itself where scripts run; without them it is loaded again. */
    async function atEndOfJob(page: Page): Promise<void> {
      await until(async () => {
        if (!page.url().includes('/jobs/')) return true;
        // It may lead on by itself meanwhile.
        await page.goto(page.url()).catch((error: Error) => {
          if (!error.message.includes('interrupted by another navigation')) throw error;
        });
        return null;
      });
      await page.waitForLoadState();
    }

    /** The check of everything that is kept, without which nothing is released. */
    async function checkFolder(): Promise<void> {
      const page = pageOf(ADMINISTRATOR.person);
      await page.goto(`${service.url}/protection`);
      await submit(page, 'form[action="/protection/check"] button');
      await atEndOfJob(page);
      await page.goto(`${service.url}/protection`);
      expect(await page.textContent('main')).toContain('none damaged');
    }

    /** Follows the first link of the first page that leads to signing as one of these meanings; false when none is there. */
    async function signNext(person: string, meanings: readonly string[]): Promise<boolean> {
      const page = pageOf(person);
      await page.goto(service.url);
      const links = await page.$$eval('a[href^="/sign?"]', (found) => found.map((one) => one.getAttribute('href')!));
      const href = links.find((link) => meanings.some((meaning) => link.includes(`meaning=${meaning}`)));
      if (href === undefined) return false;
      await page.goto(service.url + href);
      if (await page.$('form[action^="/sign/lots/"]')) await submit(page, 'form[action^="/sign/lots/"] button');
      await tick(page, 'input[name=units]:enabled');
      await fill(page, '#password', passwordOf(person));
      await submit(page, 'form.sign button');
      expect([href, await page.textContent('main')]).toEqual([href, expect.stringMatching(/^\s*Signed/)]);
      return true;
    }

    /** Everybody signs whatever the first page lists for them, the quality engineer first, until nothing is left. */
    async function everybodySigns(): Promise<void> {
      for (let round = 0; round < MOST_ROUNDS; round++) {
        let signed = 0;
        for (const { person } of OTHERS) {
          while (await signNext(person, ['performed', 'checked', 'approved'])) signed++;
        }
        if (signed === 0) return;
      }
      throw new Error('they sign in circles');
    }

    it('makes five people on the pages, each with a password that nobody else knows', async () => {
      const page = await newPage();
      await page.goto(service.firstLink!.url);
      await fill(page, '#person', ADMINISTRATOR.person);
      await fill(page, '#name', ADMINISTRATOR.name);
      await setPassword(page, service.firstLink!.url, ADMINISTRATOR.password);
      await signIn(page, ADMINISTRATOR.person);
      for (const { person, name, role, password } of OTHERS) {
        await page.goto(`${service.url}/people/new/account`);
        await fill(page, '#person', person);
        await fill(page, '#name', name);
        await fill(page, '#identityCheckedOn', systemClock.now().toISOString().slice(0, 10));
        await fill(page, '#ownPassword', ADMINISTRATOR.password);
        await submit(page, 'main form:not([role=search]) button');
        const link = (await page.textContent('main pre'))!.trim();
        await page.goto(`${service.url}/people/${person}/give-role`);
        await choose(page, '#role', role);
        await fill(page, '#reason', 'hired for it');
        await fill(page, '#ownPassword', ADMINISTRATOR.password);
        await submit(page, 'main button');
        expect(page.url()).toBe(`${service.url}/people/${person}`);
        const own = await newPage();
        await setPassword(own, link, password);
        await signIn(own, person);
        expect(await own.textContent('.who')).toContain(role);
      }
    });

    const cell = cellOfToday();
    cell.documents['site/program-version.yaml'] = thisProgram();
    cell.files['site/self-check.json'] = '{}';
    const lotFiles = (name: string) => name.startsWith('lots/');

    it('brings the site in, and everybody signs what the first page lists for them', async () => {
      const only = <T>(from: Record<string, T>) =>
        Object.fromEntries(Object.entries(from).filter(([name]) => !lotFiles(name)));
      await bringIn('P-PE', { documents: only(cell.documents), sheets: {}, files: only(cell.files) });
      await everybodySigns();
      for (const person of [ADMINISTRATOR, ...OTHERS]) {
        const page = pageOf(person.person);
        await page.goto(service.url);
        expect(await page.$('main a[href^="/sign?"]')).toBeNull();
        expect(await page.$('text=/Nobody may .* at present/')).toBeNull();
      }
    });

    it('builds, measures and signs a lot', async () => {
      const { measuredAt } = buildNow(cell);
      await sleep(Math.max(0, measuredAt - systemClock.now().getTime()));
      await bringIn('P-AN', cell);
      await everybodySigns();
      await checkFolder();
      const page = pageOf('P-QE');
      await page.goto(`${service.url}/lots/L-1/papers`);
      await submit(page, 'main form[action="/lots/L-1/assess"] button');
      expect(await page.textContent('main')).toContain('2 may be released');
      expect(await page.$('text=What stands in the way')).toBeNull();
    });

    it('reviews and releases it, and issues a record that anybody can verify', async () => {
      expect(await signNext('P-RE', ['released'])).toBe(false);
      expect(await signNext('P-QE', ['reviewed'])).toBe(true);
      expect(await signNext('P-RE', ['released'])).toBe(true);
      const page = pageOf('P-RE');
      await page.goto(`${service.url}/lots/L-1`);
      for (const serial of UNITS) expect(await page.textContent('main')).toContain(serial);
      await page.goto(`${service.url}/lots/L-1/papers`);
      await submit(page, 'form[action="/lots/L-1/records"] button');
      await atEndOfJob(page);
      const answer = await page.context().request.get(`${service.url}/lots/L-1/record.pdf`);
      expect(answer.headers()['content-type']).toContain('application/pdf');
      const file = path.join(path.dirname(folder), 'record.pdf');
      fs.writeFileSync(file, await answer.body());
      // Throws unless it ends with 0.
      const said = JSON.parse(execFileSync(process.execPath, [CLI, '--json', 'verify', file], { encoding: 'utf8' }));
      expect(said).toMatchObject({
        answer: 'issuer not compared',
        units: UNITS.map((serial) => ({ serial, verdict: 'conforms' })),
      });
      const step = (name: string) => said.steps.find((one: { step: string }) => one.step === name);
      expect(step('signatures')).toMatchObject({ outcome: 'holds' });
      expect(step('seal')).toMatchObject({ outcome: 'holds' });
      expect(said.steps.filter(({ outcome }: { outcome: string }) => outcome === 'does not hold')).toEqual([]);
      const services = await openServices(folder);
      const [record] = await services.store.read.records.ofLot('L-1');
      await services.store.close();
      const enclosure = JSON.parse(record!.enclosure);
      expect(enclosure.record).toEqual({ number: 'LR-L-1', revision: 1, draft: false, final: true });
      const decided = enclosure.signatures.map(({ statement }: { statement: Statement }) => statement);
      expect(decided.map((one: Statement) => [one.meaning, one.person.code, one.units])).toEqual([
        ['reviewed', 'P-QE', []],
        ['released', 'P-RE', UNITS],
      ]);
    });

    it('hands the released units over', async () => {
      const page = pageOf('P-AN');
      await page.goto(`${service.url}/enter/handover`);
      await fill(page, '[name=handover]', 'HO-1');
      await submit(page, 'button[value="more:implants"]');
      for (const [index, serial] of UNITS.entries()) await choose(page, `[name="implants[${index}]"]`, serial);
      await fill(page, '[name="to.institution"]', 'Clinic of the invented valley');
      await fill(page, '[name="to.address"]', 'Valley road 1');
      await fill(page, '[name=by]', 'P-OP');
      await page.fill('[name="at:local"]', new SiteZone(systemClock).local(systemClock.now().toISOString())!);
      await submit(page, 'button[value=check]:not([tabindex])');
      expect(await heading(page)).toContain('Check before you store');
      await submit(page, 'form[action$="/store"] button');
      await page.goto(`${service.url}/lots/L-1`);
      expect(await page.textContent('#places ~ table, #places ~ p')).toMatch(/2 made = 2 /);
      for (const serial of UNITS) expect(await page.textContent('main')).toContain(serial);
      expect(await page.textContent('main')).toContain('Clinic of the invented valley');
    });
  };

const SHORT: Way[] = [{ width: 1280, scripts: false, byKeys: false }];
const LONG: Way[] = [1280, 390].flatMap((width) => [true, false].map((scripts) => ({ width, scripts, byKeys: true })));
for (const way of process.env.LOTWRIGHT_TEST_LONG ? LONG : SHORT) {
  const said = `${way.width} pixels wide, ${way.scripts ? 'with' : 'without'} scripts${way.byKeys ? ', by keys' : ''}`;
  withTool('chromium', `a fresh installation reaches units that are released and sent, ${said}`, declare(way));
}
