import fs from 'node:fs';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { accessibilityProblems } from './browser.js';

/** Where each page is kept as a picture, to be looked at by people. */
export const PICTURES = path.resolve('var', 'pictures');

const WINDOWS = [
  { width: 1280, height: 800 },
  { width: 390, height: 844 },
];

/**
 * Loads a page and looks at it in a wide and in a narrow window, of each of which it takes a picture.
 * @param name of the sort of page.
 * @param mostScreens how many heights of the wide window it may have.
 * @returns what is wrong with it: what axe finds, that it runs over or is too long, that it does not answer well.
 */
export async function lookAt(
  page: Page,
  address: string,
  name: string,
  mostScreens = Number.POSITIVE_INFINITY,
): Promise<string[]> {
  const wrong: string[] = [];
  fs.mkdirSync(PICTURES, { recursive: true });
  await page.setViewportSize(WINDOWS[0]!);
  const status = (await page.goto(address))!.status();
  for (const size of WINDOWS) {
    const says = (what: string) => wrong.push(`${new URL(address).pathname} at ${size.width}: ${what}`);
    await page.setViewportSize(size);
    if (status >= 400) says(`answers ${status}`);
    const picture = `${name.replaceAll(/[^\w-]+/g, '_')}-${size.width}.png`;
    await page.screenshot({ path: path.join(PICTURES, picture), fullPage: true });
    const over = await page.evaluate<number>('document.documentElement.scrollWidth - window.innerWidth');
    if (over > 0) says(`runs over by ${over} pixels`);
    const screens = (await page.evaluate<number>('document.documentElement.scrollHeight')) / size.height;
    if (size === WINDOWS[0] && screens > mostScreens) says(`is ${screens.toFixed(1)} screens long`);
    for (const problem of await accessibilityProblems(page)) says(problem);
  }
  return wrong;
}
