import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Browser, Page } from 'playwright-core';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { accessibilityProblems, openBrowser, signedInContext } from '../support/browser.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { makeTestPeople } from '../support/people.js';
import { type SignedIn, signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { withTool } from '../support/tools.js';

const PHONE = { viewport: { width: 390, height: 844 } };

withTool('chromium', 'bringing a folder in by a phone, by its keys', () => {
  let services: Services;
  let app: NestExpressApplication;
  let browser: Browser;
  let root: string;
  let operator: SignedIn;
  const lot = writeCell(makeCell());

  beforeAll(async () => {
    const data = path.join(temporaryFolder('bring-in'), 'data');
    services = await openServices(DataFolder.createDemo(data, '2031-12-01T12:00:00Z'));
    await makeTestPeople(services);
    app = await createApplication(services.store);
    await app.listen(0, '127.0.0.1');
    root = (await app.getUrl()).replace('[::1]', '127.0.0.1');
    operator = await signIn(app, 'P-OP');
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await app?.close();
    await services?.store.close();
  });

  /** Goes on by the tabulator key to what has this text, and presses it. */
  async function press(page: Page, text: string): Promise<void> {
    for (let stops = 0; ; stops++) {
      expect(stops).toBeLessThan(40);
      await page.keyboard.press('Tab');
      if ((await page.evaluate<string>('document.activeElement?.textContent ?? ""')).trim() === text) break;
    }
    await page.keyboard.press('Enter');
  }

  async function isWhole(page: Page): Promise<void> {
    expect(await accessibilityProblems(page)).toEqual([]);
    expect(await page.evaluate<number>('document.documentElement.scrollWidth - window.innerWidth')).toBeLessThanOrEqual(
      0,
    );
  }

  it('tells what is wrong, takes the mended file alone, and stores what it showed, in pieces over a line that is cut', async () => {
    const context = await signedInContext(browser, root, operator, PHONE);
    const page = await context.newPage();
    const size = path.join(lot, 'lots/L-1/results/size.csv');
    const right = fs.readFileSync(size, 'utf8');
    fs.writeFileSync(size, right.replace(/\n/, ',colour\n'));
    // Longer than one piece, and known to no document.
    fs.writeFileSync(path.join(lot, 'long.bin'), Buffer.alloc(20 << 20, 'x'));
    let pieces = 0;
    await page.route('**/pieces', async (route) => {
      pieces += 1;
      if (pieces === 2) await route.abort('connectionreset');
      else await route.continue();
    });
    await page.goto(`${root}/intake`);
    await isWhole(page);
    await page.setInputFiles('#folder', lot);
    await press(page, 'Send and check');
    await page.waitForURL('**/intake/staged/*');
    expect(pieces).toBe(4);
    expect(await page.textContent('main')).toContain('results/size.csv');
    await isWhole(page);
    const before = await services.store.read.ledger.size();
    fs.writeFileSync(size, right);
    await page.setInputFiles('#files', size);
    await press(page, 'Send and check again');
    await page.waitForSelector('text=What would be stored');
    expect(pieces).toBe(4);
    await isWhole(page);
    expect(await services.store.read.ledger.size()).toBe(before);
    const [says] = /Store these \d+ things/.exec((await page.textContent('main'))!)!;
    await press(page, says);
    await page.waitForURL(/\/intake\/[\w-]{22}$/);
    expect(await page.textContent('main')).toMatch(/lot L-1, revision 1[\s\S]*What now waits, and for whom/);
    await isWhole(page);
    expect(fs.readdirSync(services.store.folder.staged)).toEqual([]);
    await context.close();
  });

  it('does the same in one request where scripts do not run', async () => {
    const context = await signedInContext(browser, root, operator, { ...PHONE, javaScriptEnabled: false });
    const page = await context.newPage();
    await page.goto(`${root}/intake`);
    await page.setInputFiles('#files', {
      name: 'supplier.yaml',
      mimeType: 'text/yaml',
      buffer: Buffer.from('kind: supplier\nformat: 1\nsupplier: S9\ntitle: Ninth\n'),
    });
    await press(page, 'Send and check');
    await page.waitForURL('**/intake/staged/*');
    await press(page, 'Store this 1 thing');
    await page.waitForURL(/\/intake\/[\w-]{22}$/);
    expect(await page.textContent('main')).toContain('supplier S9, revision 1');
    await context.close();
  });
});
