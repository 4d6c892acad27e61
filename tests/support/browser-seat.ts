import type { Page } from 'playwright-core';
import { type Filled, hasField, type Seat, saidOn } from './seat.js';
import { until } from './until.js';

/** Somebody at a window of a browser. */
export class BrowserSeat implements Seat {
  html = '';

  constructor(
    private readonly page: Page,
    private readonly url: string,
  ) {}

  get at(): string {
    return this.page.url().slice(this.url.length);
  }

  async open(address: string): Promise<void> {
    await this.page.goto(this.url + address);
    await this.shown();
  }

  async send(form: string, filled: Filled = {}, button?: string): Promise<void> {
    const own = `form[action${form.endsWith('/') ? '^' : ''}="${form}"]`;
    if (!(await this.page.$(own))) throw new Error(`${this.at} shows no form to ${form}: ${saidOn(this)}`);
    const unknown = Object.keys(filled).filter((name) => !hasField(this, name));
    if (unknown.length > 0) throw new Error(`${this.at} has no field ${unknown.join(', ')}`);
    // What a long form folds away is unfolded before anything is typed.
    for (const fold of await this.page.$$(`${own} details:not([open]) > summary`)) await fold.click();
    for (const [name, given] of Object.entries(filled)) await this.fill(`${own} [name="${name}"]`, given);
    const buttons = this.page.locator(
      button === undefined ? `${own} button` : `${own} button[value="${button}"]:not([tabindex])`,
    );
    await Promise.all([this.page.waitForEvent('load'), buttons.first().click()]);
    await this.shown();
  }

  private async fill(fields: string, given: string | readonly string[]): Promise<void> {
    const first = this.page.locator(fields).first();
    const sort = await first.evaluate((one) => `${one.tagName} ${one.getAttribute('type')}`);
    if (/checkbox|radio/.test(sort)) {
      for (const value of [given].flat()) await this.page.check(`${fields}[value="${value}"]`);
    } else if (sort.startsWith('SELECT')) await first.selectOption(given as string);
    else await first.fill(given as string);
  }

  async sendFolder(folder: string): Promise<void> {
    await this.open('/intake');
    await this.page.setInputFiles('#folder', folder);
    await Promise.all([this.page.waitForEvent('load'), this.page.click('form.bring-in button')]);
    await this.shown();
  }

  /** What is shown once work that takes long has ended, which is looked at again and again. */
  private async shown(): Promise<void> {
    await until(async () => {
      if (!this.at.startsWith('/jobs/')) return true;
      await this.page.goto(this.page.url());
      return null;
    });
    this.html = await this.page.content();
  }
}
