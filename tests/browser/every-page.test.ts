import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Browser, Page } from 'playwright-core';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Routes } from '../../src/web/routes.js';
import { accessibilityProblems, openBrowser, patientContext } from '../support/browser.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';
import { withTool } from '../support/tools.js';

const PICTURES = path.resolve('var', 'pictures');
const WINDOWS = [
  { width: 1280, height: 800 },
  { width: 390, height: 844 },
];

/** Pages that no link leads to, and what looks at them. */
const NOT_BY_LINK: Readonly<Record<string, string>> = {
  '/set-up/done': 'tests/browser/sign-in.test.ts',
  '/set-up/:token': 'tests/browser/sign-in.test.ts',
  '/sign-in': 'tests/browser/sign-in.test.ts',
};

/** What goes to a program or into a file, as its answer says. */
const NO_PAGE = /^\/(?:api\/v1|health)|\.(?:csv|pdf|yaml|json)$|\/file$|^\/evidence\//;

const declare = () => {
  let services: Services;
  let app: NestExpressApplication;
  let browser: Browser;
  let root: string;
  let patterns: { readonly path: string; readonly shape: RegExp }[];
  let people: { readonly person: string; readonly password: string; readonly role: string }[];
  /** Each sort of page with the address at which it was looked at. */
  const seen = new Map<string, string>();
  const wrong: string[] = [];

  beforeAll(async () => {
    const { result } = await playedDemo();
    const lines = fs.readFileSync(path.join(result.folder, 'people.txt'), 'utf8').split('\n');
    people = lines.flatMap((line) => {
      const row = /^(\S+)\s+(\S+)\s{2,}\S.*?\s{2,}(\S.*)$/.exec(line);
      return row ? [{ person: row[1]!, password: row[2]!, role: row[3]! }] : [];
    });
    services = await openServices(DataFolder.open(result.folder));
    app = await createApplication(services.store);
    await app.listen(0, '127.0.0.1');
    root = (await app.getUrl()).replace('[::1]', '127.0.0.1');
    const pages = app
      .get(Routes)
      .all()
      .filter(({ method, path: at }) => method === 'GET' && !NO_PAGE.test(at));
    // What is named stands before what is any name.
    patterns = pages
      .map(({ path: at }) => ({ path: at, shape: new RegExp(`^${at.replaceAll(/:\w+/g, '[^/]+')}$`) }))
      .sort((a, b) => a.path.split(':').length - b.path.split(':').length);
    browser = await openBrowser();
    fs.mkdirSync(PICTURES, { recursive: true });
  });
  afterAll(async () => {
    await browser?.close();
    await app?.close();
    await services?.store.close();
  });

  const patternOf = (at: string) => patterns.find(({ shape }) => shape.test(at))?.path;

  /** The sort of a page: its route, and what was asked in its address. */
  function sortOf(address: string): string | undefined {
    const url = new URL(address, root);
    const pattern = patternOf(url.pathname);
    if (pattern === undefined || NO_PAGE.test(url.pathname)) return undefined;
    // Forms are many and made by one hand: each kind is looked at. A page of a lot is looked at for one lot.
    const which = pattern === '/enter/:kind' ? url.pathname : pattern;
    return [which, ...new Set(url.searchParams.keys())].join(' ');
  }

  /** Looks at a page in both windows. @returns the addresses that it leads to. */
  async function lookAt(page: Page, address: string): Promise<string[]> {
    const sort = sortOf(address)!;
    for (const size of WINDOWS) {
      await page.setViewportSize(size);
      const status = (await page.goto(root + address))!.status();
      if (status >= 400) wrong.push(`${address} answers ${status}`);
      const picture = `${sort.replaceAll(/[^\w-]+/g, '_')}-${size.width}.png`;
      await page.screenshot({ path: path.join(PICTURES, picture), fullPage: true });
      const over = await page.evaluate<number>('document.documentElement.scrollWidth - window.innerWidth');
      if (over > 0) wrong.push(`${address} at ${size.width}: runs over by ${over} pixels`);
      for (const problem of await accessibilityProblems(page)) wrong.push(`${address} at ${size.width}: ${problem}`);
    }
    return page.$$eval('a[href^="/"]', (links) => links.map((link) => link.getAttribute('href')!.split('#')[0]!));
  }

  async function walk(page: Page, from: readonly string[]): Promise<void> {
    const ahead = [...from];
    for (let address = ahead.shift(); address !== undefined; address = ahead.shift()) {
      const sort = sortOf(address);
      if (sort === undefined || seen.has(sort)) continue;
      seen.set(sort, address);
      ahead.push(...(await lookAt(page, address)));
    }
  }

  async function signedIn(role: string): Promise<Page> {
    const { person, password } = people.find((one) => one.role.includes(role))!;
    const page = await (await patientContext(browser)).newPage();
    await page.goto(`${root}/sign-in`);
    await page.fill('#person', person);
    await page.fill('#password', password);
    await Promise.all([page.waitForEvent('load'), page.click('main button')]);
    return page;
  }

  const ROLES = ['operator', 'analyst', 'process engineer', 'quality engineer', 'releaser', 'auditor', 'administrator'];

  it.each(ROLES)('%s: all that links lead to', async (role) => {
    const page = await signedIn(role);
    // What another person sees at the same address is theirs.
    for (const own of ['/', '/lots']) seen.delete(own);
    await walk(page, ['/']);
    await page.context().close();
  });

  it('has no page that nobody looked at, and nothing was wrong with any', () => {
    const reached = new Set([...seen.values()].map((address) => patternOf(new URL(address, root).pathname)));
    const unseen = patterns.map(({ path: at }) => at).filter((at) => !reached.has(at));
    fs.writeFileSync(path.join(PICTURES, 'wrong.txt'), [...wrong, '', 'unseen', ...unseen].join('\n'));
    expect(wrong).toEqual([]);
    expect(unseen).toEqual(Object.keys(NOT_BY_LINK));
  });
};

// A few hundred pages, each twice.
if (process.env.LOTWRIGHT_TEST_LONG) {
  withTool('chromium', 'every page in two windows', declare);
} else {
  describe.skip('every page in two windows (npm run test:long)', declare);
}
