import type { Browser } from 'playwright-core';
import { openBrowser, signedInContext } from '../support/browser.js';
import { DESIGN_PAGES, takeDesignHistory } from '../support/design-in-service.js';
import { DESIGN_DOCUMENTS } from '../support/documents/design-history.js';
import { Hand } from '../support/hand.js';
import { signIn, startTestService, type TestService } from '../support/service.js';
import { withTool } from '../support/tools.js';

/** As much as the longest of these pages has, and more. */
const MOST_STOPS = 300;

/** What the keyboard stands on: its place among all that it may stop at, whether it is seen to, and its name. */
interface Stop {
  readonly place: number;
  readonly isSeen: boolean;
  readonly name: string;
}

/** In the browser. */
const STOP = `(() => {
  const all = [...document.querySelectorAll('main a[href], main button, main input:not([type=hidden]), main select, main textarea, main summary, main [tabindex="0"]')]
    .filter((one) => one.tabIndex >= 0 && one.checkVisibility());
  const at = document.activeElement;
  if (at === null || !all.includes(at)) return null;
  const { outlineStyle, outlineWidth } = getComputedStyle(at);
  const name = at.getAttribute('aria-label') ?? at.textContent.trim().slice(0, 40);
  return { place: all.indexOf(at), isSeen: outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2, name };
})()`;

withTool('chromium', 'pages of a design, by keyboard and without scripts', () => {
  let service: TestService;
  let browser: Browser;
  let root: string;
  let hand: Hand;

  beforeAll(async () => {
    service = await startTestService();
    await takeDesignHistory(service);
    const open = Object.values(DESIGN_DOCUMENTS).find(({ kind }) => kind === 'design-change')!;
    const { touches: _, ...proposed } = { touches: null, ...open, change: 'DC-7', decision: 'open' };
    await service.services.intake.take([{ file: 'change.yaml', document: proposed }], 'local:tester');
    await service.app.listen(0, '127.0.0.1');
    root = (await service.app.getUrl()).replace('[::1]', '127.0.0.1');
    browser = await openBrowser();
    const way = { width: 1280, scripts: false, byKeys: true };
    const window = { javaScriptEnabled: way.scripts, viewport: { width: way.width, height: 800 } };
    const context = await signedInContext(browser, root, await signIn(service.app, 'P-QE'), window);
    hand = new Hand(await context.newPage(), way);
  });
  afterAll(async () => {
    await browser?.close();
    await service?.close();
  });

  const text = async () => (await hand.said()).replaceAll(/\s+/g, ' ');

  it.each([...DESIGN_PAGES, '/design/change?family=PLATE&change=DC-7'])(
    '%s: the tabulator key stops at everything once, in the order of the page, and is seen',
    async (path) => {
      const { page } = hand;
      await hand.open(root + path);
      const stops: Stop[] = [];
      for (let pressed = 0; pressed < MOST_STOPS; pressed++) {
        await page.keyboard.press('Tab');
        const stop = await page.evaluate<Stop | null>(STOP);
        const before = stops.at(-1);
        // The parts of a day are stops of one field, with marks of the browser's own.
        if (stop !== null && stop.place === before?.place)
          stops[stops.length - 1] = { ...stop, isSeen: stop.isSeen || before.isSeen };
        else if (stop !== null) stops.push(stop);
        else if (stops.length > 0) break;
      }
      expect(stops.length).toBeGreaterThan(1);
      expect(stops.filter(({ isSeen }) => !isSeen)).toEqual([]);
      expect(stops.map(({ place }) => place)).toEqual(stops.map((_, index) => index));
      if (!/^\/design\?/.test(path)) return;
      // Boxes of the picture of the matrix are links, from need to test, before the table that says the same.
      const names = stops.map(({ name }) => name);
      const placeOf = (code: RegExp) => names.findIndex((name) => code.test(name));
      const [need, input, output, study] = [/^UN-1, /, /^DI-1, /, /^DO-1, /, /^DS-1, /].map(placeOf);
      expect(need).toBeGreaterThan(-1);
      expect(need! < input! && input! < output! && output! < study!).toBe(true);
    },
  );

  it('leads from a box of the matrix to its entry, from there to the design, and compares what was frozen', async () => {
    await hand.open(`${root}/design?family=PLATE`);
    await hand.press('svg a[aria-label^="DI-1"]');
    expect(await hand.heading()).toContain('DI-1');
    await hand.press('.crumb a');
    await hand.press('form[action="/design/compare"] button');
    expect(await text()).toContain('UN-1');
    await hand.press('.crumb a');
    await hand.press('a[href^="/design/ranges"]');
    expect(await hand.heading()).toContain('shown');
    await hand.press('.crumb a');
    await hand.press('a[href^="/design/device-file"]');
    expect(await text()).toContain('RC');
  });

  it('shows the design as it was, and refuses to freeze one with a draft in it', async () => {
    await hand.open(`${root}/design?family=PLATE`);
    const { page } = hand;
    await page.locator('summary', { hasText: 'Freeze the design' }).focus();
    await page.keyboard.press('Enter');
    await hand.fill('input[name=name]', 'freeze-2');
    await hand.press('form[action="/design/freeze"] button');
    expect(await text()).toContain('DC-7');
    expect(await page.inputValue('input[name=name]')).toBe('freeze-2');
    await hand.fill('input[name=asOf]', service.services.store.clock.now().toISOString().slice(0, 10));
    await hand.press('form[action="/design"] button');
    expect(await hand.heading()).toContain('PLATE');
  });

  it('lists a change, answers its lines, and decides it', async () => {
    await hand.open(`${root}/design?family=PLATE`);
    await hand.press('a[href*="change=DC-7"]');
    expect(await text()).toContain('Nobody listed it yet.');
    await hand.press('form[action="/design/change/list"] button');
    const lines = await hand.page.locator('textarea[name=answers]').count();
    expect(lines).toBeGreaterThan(0);
    for (let line = 0; line < lines; line++) await hand.fill(`#answer-${line}`, 'nothing follows');
    await hand.press('form[action="/design/change/answer"] button');
    expect(await text()).toContain('Each line has an answer: it can be decided.');
    await hand.press('button[name=decision][value=go]');
    expect(await text()).toContain('Decided, and not approved yet.');
  });
});
