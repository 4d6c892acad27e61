import fs from 'node:fs';
import { createRequire } from 'node:module';
import type axe from 'axe-core';
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

/** Without its comments it is half as long, and each page reads it. */
const AXE = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/**
 * What axe finds against WCAG 2.2 A and AA and its own best practice, and what it cannot decide by itself, one line for
 * each element. Of letters in pictures it never can: their contrast is computed here.
 */
export async function accessibilityProblems(page: Page): Promise<string[]> {
  // Styles are not fetched again for rules on turned screens, which are not among these.
  const options = { runOnly: RULES, resultTypes: ['violations', 'incomplete'], preload: false };
  if (await page.evaluate<boolean>(`typeof axe === 'undefined'`)) await page.evaluate(AXE);
  const { violations, incomplete } = await page.evaluate<axe.AxeResults>(
    `axe.run(document, ${JSON.stringify(options)})`,
  );
  const lines = (rules: readonly axe.Result[], sort: string) =>
    rules.flatMap(({ id, help, nodes }) =>
      nodes
        .filter(({ html }) => !(id === 'color-contrast' && html.startsWith('<text')))
        .map(({ html, any }) => `${sort}${id}: ${any[0]?.message ?? help}: ${html.slice(0, 120)}`),
    );
  const pale = await page.evaluate<string[]>(`(${paleLetters.toString()})()`);
  return [...lines(violations, ''), ...lines(incomplete, 'undecided: '), ...pale];
}

/** In the browser: letters of pictures that stand out from what is drawn below them by less than 4.5 to 1. */
function paleLetters(): string[] {
  const { document } = globalThis as unknown as { document: PictureDocument };
  const light = (colour: string): number => {
    const parts = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16) / 255);
    const [red, green, blue] = parts.map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
  };
  const found: string[] = [];
  for (const picture of document.querySelectorAll('svg')) {
    const shapes = [...picture.querySelectorAll('rect, path, circle, text')];
    for (const [place, text] of shapes.entries()) {
      if (text.tagName !== 'text') continue;
      const { x, y, width, height } = text.getBoundingClientRect();
      const below = shapes.slice(0, place).filter((shape) => {
        const fill = shape.getAttribute('fill') ?? 'none';
        const box = shape.getBoundingClientRect();
        const isOver = (at: number, from: number, size: number) => from <= at && at <= from + size;
        const isUnder = isOver(x + width / 2, box.x, box.width) && isOver(y + height / 2, box.y, box.height);
        return shape.tagName !== 'text' && fill !== 'none' && isUnder;
      });
      const [ink, paper] = [text.getAttribute('fill')!, below.at(-1)?.getAttribute('fill') ?? '#ffffff'];
      const [a, b] = [light(ink), light(paper)];
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      if (!(ratio >= 4.5)) found.push(`letters in a picture, ${ink} on ${paper}: ${text.textContent}`);
    }
  }
  return found;
}

/** As much of the document of a browser as is asked here: tests are compiled without one. */
interface PictureDocument {
  querySelectorAll(selector: string): Iterable<PictureElement>;
}
interface PictureElement extends PictureDocument {
  readonly tagName: string;
  readonly textContent: string;
  getAttribute(name: string): string | null;
  getBoundingClientRect(): { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
}
