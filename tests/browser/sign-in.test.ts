import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { type RunningService, serve } from '../../src/main.js';
import { accessibilityProblems, openBrowser, patientContext } from '../support/browser.js';
import { temporaryFolder } from '../support/cell.js';
import { PASSWORD } from '../support/people.js';
import { withTool } from '../support/tools.js';

withTool('chromium', 'a fresh installation in a browser, by keyboard and without scripts', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    service = await serve({ data: path.join(temporaryFolder('fresh'), 'data'), port: 0, host: '127.0.0.1' });
    browser = await openBrowser();
    page = await newPage();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.close();
  });

  // Without scripts of its own a page cannot be checked by axe, so that happens in pages of its own below.
  const newPage = async () => (await patientContext(browser, { javaScriptEnabled: false })).newPage();

  /** Goes from field to field by Tab, from the first field named, and sends the form by Enter. */
  async function fill(on: Page, first: string, texts: readonly string[]): Promise<void> {
    await on.focus(first);
    for (const [index, text] of texts.entries()) {
      if (index > 0) await on.keyboard.press('Tab');
      await on.keyboard.type(text);
    }
    await Promise.all([on.waitForEvent('load'), on.keyboard.press('Enter')]);
  }

  it('goes from the first link to an administrator, who makes an account whose person signs in', async () => {
    await page.goto(service.url);
    expect(await page.textContent('main')).toContain('Nobody has an account here yet');
    await page.goto(service.firstLink!.url);
    await fill(page, '#person', ['ADM', 'Mira Solberg', 'too short', 'too short']);
    expect(await page.title()).toContain('Error');
    await page.click('.summary a');
    expect(page.url()).toMatch(/#password$/);
    await fill(page, '#password', [PASSWORD, PASSWORD]);
    expect(await page.textContent('h1')).toBe('Your password is set');

    await page.click('main a');
    await fill(page, '#person', ['ADM', PASSWORD]);
    expect(await page.textContent('h1')).toBe('Today');
    await page.goto(`${service.url}/people/new/account`);
    // Not by Tab from the date: there it leads to the calendar of the browser.
    await page.fill('#ownPassword', PASSWORD);
    await fill(page, '#person', ['TO', 'Tomas Okoro', '03012999']);
    expect(await page.textContent('h1')).toBe('Make an account');
    expect(await page.textContent('.summary')).toContain('a day to come');
    await page.fill('#identityCheckedOn', '2020-03-01');
    await page.fill('#ownPassword', PASSWORD);
    await fill(page, '#name', []);
    const link = (await page.textContent('main pre'))!.trim();
    expect(link).toContain(`${service.url}/set-up/`);

    const other = await newPage();
    await other.goto(link);
    await fill(other, '#password', ['nine quiet lanterns', 'nine quiet lanterns']);
    await other.click('main a');
    await fill(other, '#person', ['TO', 'nine quiet lanterns']);
    expect(await other.textContent('.who')).toContain('Tomas Okoro');

    await page.goto(`${service.url}/people/TO/give-role`);
    await page.selectOption('#role', 'quality engineer');
    await fill(page, '#reason', ['hired for it', PASSWORD]);
    expect(page.url()).toBe(`${service.url}/people/TO`);
    await other.reload();
    expect(await other.textContent('.who')).toContain('quality engineer');
    await other.click('.who button');
    await other.goto(`${service.url}/people`);
    expect(other.url()).toBe(`${service.url}/sign-in?next=%2Fpeople`);
  });

  it('has no accessibility problem on any page of people, with and without errors', async () => {
    const seen = await (await patientContext(browser)).newPage();
    await seen.goto(`${service.url}/sign-in`);
    await fill(seen, '#person', ['ADM', 'wrong password']);
    expect(await accessibilityProblems(seen)).toEqual([]);
    await fill(seen, '#person', [PASSWORD]);
    await seen.fill('#person', 'ADM');
    await fill(seen, '#password', [PASSWORD]);
    const acts = ['give-role', 'take-role', 'name-deputy', 'end-deputy', 'link', 'close'].map((act) => `/TO/${act}`);
    for (const address of ['', '/TO', '/new/account', ...acts]) {
      await seen.goto(`${service.url}/people${address}`);
      expect([address, await accessibilityProblems(seen)]).toEqual([address, []]);
    }
    await seen.goto(`${service.url}/people/TO/close`);
    await fill(seen, '#reason', []);
    expect(await seen.textContent('.summary')).toContain('Reason');
    expect(await accessibilityProblems(seen)).toEqual([]);
  });
});
