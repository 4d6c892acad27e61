import type { Browser, BrowserContext, Page } from 'playwright-core';
import { accessibilityProblems, openBrowser, signedInContext } from '../support/browser.js';
import { DESIGN_PAGES, takeDesignHistory } from '../support/design-in-service.js';
import { PAGES, type SignedIn, signIn, startTestService, type TestService } from '../support/service.js';
import { withTool } from '../support/tools.js';

withTool('chromium', 'pages in a browser', () => {
  let service: TestService;
  let browser: Browser;
  let root: string;
  let signedIn: SignedIn;

  beforeAll(async () => {
    service = await startTestService();
    await service.services.issuer.issue('L-1', 'local:tester');
    await takeDesignHistory(service);
    await service.app.listen(0, '127.0.0.1');
    root = (await service.app.getUrl()).replace('[::1]', '127.0.0.1');
    signedIn = await signIn(service.app, 'P-QE');
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.close();
  });

  describe('each page', () => {
    const isLong = Boolean(process.env.LOTWRIGHT_TEST_LONG);
    const LOOKED_AT = [...PAGES, ...DESIGN_PAGES.filter((path) => !(PAGES as readonly string[]).includes(path))];
    // The same elements in the same order on a phone, and in another page of the same template: there axe looks in the long run.
    const TWINS: readonly string[] = [
      ...['/lots/L-05', '/lots/L-1/logs/M1-101?channel=oxygen&by=layer', '/find?id=0417'],
      ...['/calculations/fit', '/people/P-AN', '/audit'],
    ];
    const isLookedAt = (path: string, where: keyof typeof SIZES) =>
      isLong || (where === 'desk' && !TWINS.includes(path));
    const SIZES = { desk: { width: 1280, height: 800 }, phone: { width: 390, height: 844 } };
    let page: Page;
    /** Each page begins in the window in which the one before it ended. */
    let windows: (keyof typeof SIZES)[] = ['desk', 'phone'];
    const complaints: string[] = [];
    beforeAll(async () => {
      const context = await signedInContext(browser, root, signedIn, { viewport: SIZES.desk });
      page = await context.newPage();
      page.on('console', (message) => complaints.push(`${page.url()}: ${message.text()}`));
    });

    it.each(LOOKED_AT)(
      '%s has no accessibility problem and does not run over, on a desk and on a phone',
      async (path) => {
        complaints.length = 0;
        await page.goto(root + path);
        for (const where of windows) {
          await page.setViewportSize(SIZES[where]);
          if (isLookedAt(path, where)) expect(await accessibilityProblems(page)).toEqual([]);
          const [over, height] = await page.evaluate<[number, number]>(
            '[document.documentElement.scrollWidth - window.innerWidth, document.documentElement.scrollHeight]',
          );
          expect(over).toBeLessThanOrEqual(0);
          // The six pages of a lot.
          if (where === 'desk' && /^\/lots\/L-1(?:\/(?!family)\w+)?$/.test(path))
            expect(height).toBeLessThanOrEqual(3 * SIZES.desk.height);
        }
        windows = windows.toReversed();
        // The browser itself reports the status of the page that does not exist, and nothing else.
        expect(complaints.filter((line) => !line.includes('404 (Not Found)'))).toEqual([]);
      },
    );

    it.each(['', '/build', '/tests', '/materials', '/checks', '/papers'])(
      'shows the one next step of a lot%s within twelve tab stops',
      async (part) => {
        await page.goto(`${root}/lots/L-00${part}`);
        const isAct = "document.activeElement?.closest('.next') !== null";
        for (let stops = 0; stops < 12 && !(await page.evaluate<boolean>(isAct)); stops++)
          await page.keyboard.press('Tab');
        expect(await page.evaluate<boolean>(isAct)).toBe(true);
      },
    );
  });

  it('has no accessibility problem on a calculation page with an error or a result', async () => {
    const page = await (await signedInContext(browser, root, signedIn)).newPage();
    for (const area of ['', '5,2']) {
      await page.goto(`${root}/calculations/mass-loss-rate`);
      await page.fill('#areaCm2', area);
      await page.click('.acts button');
      expect(await accessibilityProblems(page)).toEqual([]);
    }
    await page.close();
  });

  describe('without scripts', () => {
    let context: BrowserContext;
    let page: Page;
    beforeAll(async () => {
      context = await signedInContext(browser, root, signedIn, { javaScriptEnabled: false });
      page = await context.newPage();
    });
    afterAll(() => context?.close());

    it('reaches the content, the search and an answer by keyboard alone', async () => {
      await page.goto(root);
      await page.keyboard.press('Tab');
      await page.keyboard.press('Enter');
      expect(page.url()).toBe(`${root}/#main`);
      await page.goto(root);
      // Skip link, then the words, of which the last finds.
      const words = await page.locator('nav[aria-label="Pages"] a').count();
      for (let step = 0; step < words + 1; step++) await page.keyboard.press('Tab');
      await page.keyboard.press('Enter');
      await page.waitForURL('**/find');
      await page.fill('#find-id', '0417');
      await page.keyboard.press('Enter');
      await page.waitForURL(/\/find\?id=0417/);
      expect(await page.textContent('h1')).toBe('0417');
    });

    it('goes from a value to its row, and from there to the file as received', async () => {
      await page.goto(`${root}/lots/L-1`);
      await page.click('table.matrix a[href*="#result-"]');
      const row = page.locator('tr:target');
      expect(await row.count()).toBe(1);
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        row.locator('a[href^="/evidence/"]').click(),
      ]);
      expect(download.suggestedFilename()).toMatch(/^(tensile|size)\.csv$/);
    });

    it.each(['/families/PLATE', '/trend?family=PLATE&characteristic=rm'])(
      'goes from a point of a chart of %s to its lot, and from there to the file as received: two clicks',
      async (path) => {
        await page.goto(root + path);
        await page.locator('svg a[href*="#characteristic-"]').first().click();
        expect(await page.locator(':target').count()).toBe(1);
        const [download] = await Promise.all([
          page.waitForEvent('download'),
          page.locator('section:has(:target) a[href^="/evidence/"]').first().click(),
        ]);
        expect(download.suggestedFilename()).toMatch(/\.csv$/);
      },
    );

    it('goes the same way by keyboard, or past all points of a chart at once', async () => {
      const focused = (shape: string) => page.evaluate<boolean>(`document.activeElement?.matches('${shape}') === true`);
      const tabTo = async (shape: string) => {
        for (let stops = 0; stops < 60 && !(await focused(shape)); stops++) await page.keyboard.press('Tab');
        expect([shape, await focused(shape)]).toEqual([shape, true]);
      };
      await page.goto(`${root}/trend?family=PLATE&characteristic=rm`);
      await tabTo('figure .skip');
      await page.keyboard.press('Enter');
      await page.keyboard.press('Tab');
      expect(await focused('figure *')).toBe(false);
      await page.goto(`${root}/trend?family=PLATE&characteristic=rm`);
      await tabTo('svg a');
      await page.keyboard.press('Enter');
      await page.waitForURL(/\/lots\/[^/]+\/tests#characteristic-rm$/);
      await tabTo('a[href^="/evidence/"]');
      const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
      expect(download.suggestedFilename()).toMatch(/\.csv$/);
    });

    it('computes, and shows an error at the top that leads to the field', async () => {
      await page.goto(`${root}/calculations/mass-loss-rate`);
      await page.click('.acts button');
      expect(await page.textContent('#result')).toBe('Result');
      await page.fill('#areaCm2', '');
      await page.click('.acts button');
      expect(await page.title()).toContain('Error');
      await page.click('.summary a');
      expect(page.url()).toMatch(/#areaCm2$/);
      await page.fill('#areaCm2', '5,2');
      await page.click('.acts button');
      expect(await page.inputValue('#areaCm2')).toBe('5.2');
    });

    it('issues a record from the button, which the browser marks as coming from here', async () => {
      await page.goto(`${root}/lots/L-1/papers`);
      await page.click('text=Issue a record of this lot as it stands');
      await page.waitForURL('**/lots/L-1/papers#records');
      expect(await service.services.store.read.records.ofLot('L-1')).toHaveLength(2);
    });
  });

  it('does not let a page from elsewhere change anything', async () => {
    const page = await (await signedInContext(browser, root, signedIn)).newPage();
    await page.setContent(`<form method="post" action="${root}/lots/L-1/records"><button>Win</button></form>`);
    const before = await service.services.store.read.ledger.size();
    const [answer] = await Promise.all([
      page.waitForResponse((response) => response.url().endsWith('/records')),
      page.click('button'),
    ]);
    expect(answer.status()).toBe(403);
    expect(await service.services.store.read.ledger.size()).toBe(before);
  });
});
