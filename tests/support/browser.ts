import axe from 'axe-core';
import { type Browser, type BrowserContext, type BrowserContextOptions, chromium, type Page } from 'playwright-core';
import type { SignedIn } from './service.js';

/** Debian's Chromium without a window and without any call home. */
export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: '/usr/bin/chromium',
    timeout: 0,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      // A window without a frame starts programs of its own for what would drop from the address bar.
      '--disable-features=WebUIOmniboxPopup,WebUIOmniboxAimPopup',
    ],
  });
}

/** A browser window of its own that waits for pages as long as they take. */
export async function patientContext(browser: Browser, options: BrowserContextOptions = {}): Promise<BrowserContext> {
  const context = await browser.newContext(options);
  context.setDefaultTimeout(0);
  return context;
}

/** A browser window of its own in which a person is signed in already. */
export async function signedInContext(
  browser: Browser,
  root: string,
  { cookie }: SignedIn,
  options: BrowserContextOptions = {},
): Promise<BrowserContext> {
  const context = await patientContext(browser, options);
  const [name, value] = cookie.split('=');
  await context.addCookies([{ name: name!, value: value!, url: root, httpOnly: true, sameSite: 'Strict' }]);
  return context;
}

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/**
 * What axe finds against WCAG 2.2 A and AA and its own best practice, and what it cannot decide by itself, one line for
 * each element.
 */
export async function accessibilityProblems(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const { violations, incomplete } = await page.evaluate<axe.AxeResults>(
    `axe.run(document, { runOnly: ${JSON.stringify(RULES)}, resultTypes: ['violations', 'incomplete'] })`,
  );
  const lines = (rules: readonly axe.Result[], sort: string) =>
    rules.flatMap(({ id, help, nodes }) =>
      nodes.map(({ html, any }) => `${sort}${id}: ${any[0]?.message ?? help}: ${html.slice(0, 120)}`),
    );
  return [...lines(violations, ''), ...lines(incomplete, 'undecided: ')];
}
