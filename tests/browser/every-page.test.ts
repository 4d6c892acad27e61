import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Browser, Page } from 'playwright-core';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Routes } from '../../src/web/routes.js';
import { openBrowser, patientContext } from '../support/browser.js';
import { lookAt } from '../support/page-looks.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';
import { withTool } from '../support/tools.js';

/** Pages that no link of the demo leads to: other suites look at them, with an eye of axe on each. */
const SIGN_IN = ['/set-up/:token', '/set-up/done', '/sign-in'];
const BY_FORMS = [
  ...['/enter/:kind/:draft', '/enter/:kind/:draft/check', '/intake/:report', '/intake/staged/:folder', '/jobs/:job'],
  ...['/sheets/:lot/:draft', '/sheets/:lot/again/:handed', '/sheets/:lot/new/:method', '/sheets/:lot/stored/:file'],
  ...['/prepare/:draft/:step', '/prepare/new/:case', '/signed/:digest'],
];
/** They lead on to another page. */
const LEAD_ON = ['/lots/:lot/page', '/trace'];
/** Of what the demo may have none: a recall, a finding of several, a verdict that an upgrade changed, something to withdraw. */
const SELDOM = [
  '/recalls/:code',
  '/lots/:lot/findings/:id',
  '/lots/:lot/changed-verdicts',
  '/withdraw/:kind/:key/:revision',
];

/** What goes to a program or into a file, as its answer says. */
const NO_PAGE = /^\/(?:api\/v1|health)|\.(?:csv|pdf|yaml|json)$|\/file$|\/files\/|\/build-sheet$|^\/evidence\//;

const LOT = 'L-2026-014';

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

  /** Every sort of page that links lead to from here, for this person; each sort is looked at once. */
  async function walk(page: Page, from: readonly string[]): Promise<void> {
    const walked = new Set<string>();
    const ahead = [...from];
    for (let address = ahead.shift(); address !== undefined; address = ahead.shift()) {
      const sort = sortOf(address);
      if (sort === undefined || walked.has(sort)) continue;
      walked.add(sort);
      if (!seen.has(sort)) wrong.push(...(await lookAt(page, root + address, sort)));
      seen.set(sort, address);
      const html = await (await page.request.get(root + address)).text();
      ahead.push(...[...html.matchAll(/<a [^>]*href="(\/[^"#]*)/g)].map(([, to]) => to!.replaceAll('&amp;', '&')));
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
    // What another person sees on the first page is theirs. The lot with findings has more to lead to than others.
    seen.delete('/');
    await walk(page, ['/', `/lots/${LOT}`, `/lots/${LOT}/build`, '/parts', '/enter/supplier']);
    await page.context().close();
  });

  it('has no page that nobody looked at, and nothing was wrong with any', () => {
    const reached = new Set([...seen.values()].map((address) => patternOf(new URL(address, root).pathname)));
    const unseen = patterns.map(({ path: at }) => at).filter((at) => !reached.has(at));
    expect(wrong).toEqual([]);
    const known = new Set([...SIGN_IN, ...BY_FORMS, ...LEAD_ON, ...SELDOM]);
    expect(unseen.filter((at) => !known.has(at))).toEqual([]);
  });
};

// A few hundred pages, each twice.
if (process.env.LOTWRIGHT_TEST_LONG) {
  withTool('chromium', 'every page in two windows', declare);
} else {
  describe.skip('every page in two windows (npm run test:long)', declare);
}
