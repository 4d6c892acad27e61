import type { Page } from 'playwright-core';
import { until } from './until.js';

/** How the pages are used: in what window, with scripts or without, and whether all is reached and pressed by keys. */
export interface Way {
  readonly width: number;
  readonly scripts: boolean;
  readonly byKeys: boolean;
}

interface Did {
  sent: number;
  fields: number;
  files: number;
  letters: number;
}

/** Seconds of the keystroke-level model: to make up one's mind, to point, to change between pointer and keys, a letter of a code. */
const [MIND, POINT, CHANGE, LETTER, PRESS] = [1.35, 1.1, 0.4, 0.5, 0.2];
/** To find a file in the window of the browser. */
const FILE = 20;

/**
 * How long somebody who knows the pages takes for what they do there, in seconds, without what they read: by the keystroke-level
 * model (Card, Moran and Newell, Communications of the ACM 23 (1980) 396), with its time for typing codes.
 */
export const secondsOf = ({ sent, fields, files, letters }: Readonly<Did>): number =>
  sent * (MIND + POINT + PRESS) + fields * (MIND + POINT + 2 * CHANGE) + letters * LETTER + files * FILE;

/** Stops of the tabulator key on the longest page that is walked. */
const MOST_STOPS = 400;

/** Somebody at a window of a browser: what they type, choose and press, counted. */
export class Hand {
  /** Buttons and links that were pressed, fields that were filled in, files that were chosen, and letters that were typed. */
  readonly did: Did = { sent: 0, fields: 0, files: 0, letters: 0 };

  constructor(
    readonly page: Page,
    private readonly way: Way,
  ) {}

  get at(): string {
    return this.page.url();
  }

  async open(address: string): Promise<void> {
    await this.page.goto(address);
  }

  heading(): Promise<string | null> {
    return this.page.textContent('h1');
  }

  async said(): Promise<string> {
    return (await this.page.textContent('main'))!;
  }

  /** Goes on by the tabulator key from the top of the page to the first element of this sort. */
  private async goTo(selector: string): Promise<void> {
    if ((await this.page.$(selector)) === null) throw new Error(`${this.at} has no ${selector}`);
    const target = this.page.locator(selector).first();
    await this.page.evaluate('document.activeElement?.blur(); window.getSelection()?.removeAllRanges()');
    for (let stops = 0; stops < MOST_STOPS; stops++) {
      await this.page.keyboard.press('Tab');
      if (await target.evaluate((element) => element === element.ownerDocument.activeElement)) return;
    }
    throw new Error(`no tabulator key leads to ${selector} of ${this.at}`);
  }

  /** Presses a button or a link, and waits for the page that follows. */
  async press(button: string): Promise<void> {
    this.did.sent += 1;
    if (this.way.byKeys) await this.goTo(button);
    await Promise.all([
      this.page.waitForEvent('load'),
      this.way.byKeys ? this.page.keyboard.press('Enter') : this.page.click(button),
    ]);
  }

  /** Days and moments are set whole: how their parts are typed differs from browser to browser. */
  async fill(field: string, text: string): Promise<void> {
    this.did.fields += 1;
    this.did.letters += text.length;
    if (!this.way.byKeys || /^\d{4}-\d\d-\d\d/.test(text)) return this.page.fill(field, text);
    await this.goTo(field);
    await this.page.keyboard.press('ControlOrMeta+a');
    await this.page.keyboard.type(text);
  }

  /** By keys an option is chosen by what it is called. */
  async choose(field: string, option: string): Promise<void> {
    this.did.fields += 1;
    if (!this.way.byKeys) await this.page.selectOption(field, option);
    else {
      const called = await this.page.textContent(`${field} option[value="${option}"]`);
      await this.goTo(field);
      await this.page.keyboard.type(called!.trim());
    }
    const chosen = await this.page.inputValue(field);
    if (chosen !== option) throw new Error(`${chosen} was chosen in ${field}, not ${option}`);
  }

  async tick(boxes: string): Promise<void> {
    for (const box of await this.page.$$(boxes)) {
      this.did.fields += 1;
      if (this.way.byKeys) {
        await box.focus();
        await this.page.keyboard.press('Space');
      } else await box.check();
      if (!(await box.isChecked())) throw new Error(`${boxes} could not be ticked`);
    }
  }

  async choosesFile(field: string, file: string): Promise<void> {
    this.did.files += 1;
    await this.page.setInputFiles(field, file);
  }

  /** A page of work that takes long leads on by itself where scripts run; without them it is loaded again. */
  async atEndOfJob(): Promise<void> {
    await until(async () => {
      if (!this.at.includes('/jobs/')) return true;
      // It may lead on by itself meanwhile.
      await this.open(this.at).catch((error: Error) => {
        if (!error.message.includes('interrupted by another navigation')) throw error;
      });
      return null;
    });
    await this.page.waitForLoadState();
  }
}
