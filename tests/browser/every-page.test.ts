import fs from 'node:fs';
import path from 'node:path';
import { Reflector } from '@nestjs/core';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Browser, Page } from 'playwright-core';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Access, OpenToAuditors } from '../../src/web/access.js';
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
  ...[
    '/prepare/:draft/:step',
    '/prepare/new/:case',
    '/signed/:digest',
    '/people/:person/one-time-link',
    '/account/tokens/:name',
  ],
];
/** They lead on to another page. */
const LEAD_ON = ['/lots/:lot/page', '/trace', '/sign-in/elsewhere', '/sign-in/elsewhere/back'];
/** Of what the demo may have none: two freezes of a design, a change of one that is under way, a recall, a finding of several, a changed verdict, something to withdraw, more rows than a page. */
const SELDOM = [
  '/design/compare',
  '/design/change',
  '/recalls/:code',
  '/lots/:lot/findings/:id',
  '/lots/:lot/changed-verdicts',
  '/withdraw/:kind/:key/:revision',
  '/find/rows',
];

/** What goes to a program or into a file, as its answer says. */
const NO_PAGE =
  /^\/(?:api\/v1|health|ready|metrics)|\.(?:csv|pdf|yaml|json|svg)$|\/file$|\/files\/|\/build-sheet$|^\/evidence\//;

const LOT = 'L-2026-014';
/** Of it, certificate values are on record. */
const RECEIPT = 'R-118';
const reflector = new Reflector();

const declare = () => {
  let services: Services;
  let app: NestExpressApplication;
  let browser: Browser;
  let root: string;
  let patterns: { readonly path: string; readonly shape: RegExp }[];
  /** Routes that take what forms send. */
  let acts: { readonly shape: RegExp; readonly asker: string | undefined; readonly isOpen: boolean }[];
  let people: { readonly person: string; readonly password: string; readonly role: string }[];
  /** Each sort of page with the address at which it was looked at. */
  const seen = new Map<string, string>();
  /** Addresses that somebody was led to, and that were asked for. */
  const asked = new Set<string>();
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
    acts = app
      .get(Routes)
      .all()
      .filter(({ method }) => method === 'POST')
      .map(({ path: at, handler }) => ({
        shape: shapeOf(at),
        asker: reflector.get(Access, handler),
        isOpen: reflector.get(OpenToAuditors, handler) === true,
      }));
    // What is named stands before what is any name.
    patterns = pages
      .map(({ path: at }) => ({ path: at, shape: shapeOf(at) }))
      .sort((a, b) => a.path.split(':').length - b.path.split(':').length);
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await app?.close();
    await services?.store.close();
  });

  const shapeOf = (at: string) => new RegExp(`^${at.replaceAll(/:\w+/g, '[^/]+')}$`);
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
  async function walk(page: Page, role: string, from: readonly string[]): Promise<void> {
    const walked = new Set<string>();
    const ahead = [...from];
    for (let address = ahead.shift(); address !== undefined; address = ahead.shift()) {
      const sort = sortOf(address);
      if (sort === undefined || walked.has(sort)) continue;
      walked.add(sort);
      if (!seen.has(sort)) wrong.push(...(await lookAt(page, root + address, sort, mostScreens(address))));
      seen.set(sort, address);
      asked.add(address);
      // What stands on the page of parts is invented, and leads nowhere.
      if (address === '/parts') continue;
      // What a script may say later is no link yet.
      const html = (await (await get(page, address, 5)).text()).replaceAll(/<template>.*?<\/template>/gs, '');
      const links = [...html.matchAll(/<a [^>]*href="(\/[^"#]*)/g)].map(([, to]) => to!.replaceAll('&amp;', '&'));
      ahead.push(...links);
      for (const to of links) await isThere(page, role, to, address);
      for (const [, to] of html.matchAll(/<form [^>]*method="post" action="([^"?]*)/g)) mayDo(role, to!, address);
    }
  }

  /** As it answers itself. A connection that was kept too long is opened anew. */
  const get = (page: Page, at: string, maxRedirects = 0) =>
    page.request.get(root + at, { maxRedirects, maxRetries: 3 });

  /** Of the pages of a sort one is looked at; the others answer well, and so does every file. */
  async function isThere(page: Page, role: string, to: string, from: string): Promise<void> {
    if (asked.has(to)) return;
    asked.add(to);
    const status = (await get(page, to)).status();
    if (status >= 400) wrong.push(`${role}: ${from} leads to ${to}, which answers ${status}`);
  }

  /** What a page offers to be sent is open to whoever looks at it. Whether the act itself is, tests/web/form-once.test.ts asks. */
  function mayDo(role: string, to: string, from: string): void {
    const act = acts.find(({ shape }) => shape.test(to));
    const may = role === 'auditor' ? act?.isOpen : act?.asker !== 'administrator' || role === 'administrator';
    if (!act || !may) wrong.push(`${role}: ${from} has a form to ${to}, which they may not send`);
  }

  /** The pages of a lot have a limit of length. */
  const mostScreens = (address: string) => (/^\/lots\/[^/]+(?:\/\w+)?$/.test(address) ? 3 : undefined);

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
    await walk(page, role, [
      ...['/', `/lots/${LOT}`, `/lots/${LOT}/build`, `/receipts/${RECEIPT}/certificate`, '/parts', '/enter/supplier'],
    ]);
    await page.context().close();
  });

  it('has no page that nobody looked at, and nothing was wrong with any', () => {
    const reached = new Set([...seen.values()].map((address) => patternOf(new URL(address, root).pathname)));
    const unseen = patterns.map(({ path: at }) => at).filter((at) => !reached.has(at));
    const known = new Set([...SIGN_IN, ...BY_FORMS, ...LEAD_ON, ...SELDOM]);
    expect({ wrong, unseen: unseen.filter((at) => !known.has(at)) }).toEqual({ wrong: [], unseen: [] });
  });
};

// A few hundred pages, each twice.
if (process.env.LOTWRIGHT_TEST_LONG) {
  withTool('chromium', 'every page in two windows', declare);
} else {
  describe.skip('every page in two windows (npm run test:long)', declare);
}
