import path from 'node:path';
import type { Browser } from 'playwright-core';
import { systemClock } from '../../src/base/clock.js';
import { type RunningService, serve } from '../../src/main.js';
import { openBrowser, patientContext } from './browser.js';
import { type Cell, temporaryFolder, writeCell } from './cell.js';
import { Hand, type Way } from './hand.js';
import { until } from './until.js';

export interface Member {
  readonly person: string;
  readonly name: string;
  readonly role: string;
  readonly password: string;
}

const MOST_ROUNDS = 12;

/** An installation that begins as an empty folder and is used by its pages alone, each of its people at a window of their own. */
export class CellOnPages {
  private readonly hands = new Map<string, Hand>();

  private constructor(
    readonly folder: string,
    private readonly service: RunningService,
    private readonly browser: Browser,
    private readonly way: Way,
    private readonly members: readonly Member[],
  ) {}

  /** @param members the first of them makes the accounts, and those that follow sign in the order in which they are named. */
  static async open(way: Way, members: readonly Member[]): Promise<CellOnPages> {
    const folder = path.join(temporaryFolder('cell-on-pages'), 'data');
    const service = await serve({ data: folder, port: 0, host: '127.0.0.1' });
    return new CellOnPages(folder, service, await openBrowser(), way, members);
  }

  async close(): Promise<void> {
    await this.browser.close();
    await this.service.close();
  }

  get url(): string {
    return this.service.url;
  }

  hand(person: string): Hand {
    return this.hands.get(person)!;
  }

  /** What somebody's pages, fields and files came to, of all of them together. */
  get did(): Hand['did'] {
    const all = [...this.hands.values()].map(({ did }) => did);
    const sum = (name: keyof Hand['did']) => all.reduce((total, did) => total + did[name], 0);
    return { sent: sum('sent'), fields: sum('fields'), files: sum('files'), letters: sum('letters') };
  }

  private get administrator(): Member {
    return this.members[0]!;
  }

  private passwordOf(person: string): string {
    return this.members.find((one) => one.person === person)!.password;
  }

  private async newHand(): Promise<Hand> {
    const { width, scripts } = this.way;
    const viewport = { width, height: width === 390 ? 844 : 800 };
    const context = await patientContext(this.browser, { javaScriptEnabled: scripts, viewport });
    return new Hand(await context.newPage(), this.way);
  }

  /** The first link makes an administrator, and the administrator everybody else, each with a password of their own. */
  async makeAccounts(): Promise<void> {
    const { person, name, password } = this.administrator;
    const hand = await this.newHand();
    await hand.open(this.service.firstLink!.url);
    await hand.fill('#person', person);
    await hand.fill('#name', name);
    await this.setPassword(hand, password);
    await this.signIn(hand, person);
    for (const member of this.members.slice(1)) await this.makeAccount(hand, member);
  }

  private async makeAccount(hand: Hand, { person, name, role, password }: Member): Promise<void> {
    await hand.open(`${this.url}/people/new/account`);
    await hand.fill('#person', person);
    await hand.fill('#name', name);
    await hand.fill('#identityCheckedOn', systemClock.now().toISOString().slice(0, 10));
    await hand.fill('#ownPassword', this.administrator.password);
    await hand.press('main form:not([role=search]) button');
    const link = (await hand.page.textContent('main pre'))!.trim();
    await hand.open(`${this.url}/people/${person}/give-role`);
    await hand.choose('#role', role);
    await hand.fill('#reason', 'hired for it');
    await hand.fill('#ownPassword', this.administrator.password);
    await hand.press('main button');
    expect(hand.at).toBe(`${this.url}/people/${person}`);
    const own = await this.newHand();
    await own.open(link);
    await this.setPassword(own, password);
    await this.signIn(own, person);
    expect(await own.page.textContent('.who')).toContain(role);
  }

  private async setPassword(hand: Hand, password: string): Promise<void> {
    await hand.fill('#password', password);
    await hand.fill('#repeated', password);
    await hand.press('main button');
    expect(await hand.heading()).toBe('Your password is set');
  }

  private async signIn(hand: Hand, person: string): Promise<void> {
    await hand.open(`${this.url}/sign-in`);
    await hand.fill('#person', person);
    await hand.fill('#password', this.passwordOf(person));
    await hand.press('main button');
    this.hands.set(person, hand);
  }

  /** Sends a folder, looks at what would be stored, and stores it. */
  async bringIn(person: string, cell: Cell): Promise<void> {
    const hand = this.hand(person);
    await hand.open(`${this.url}/intake`);
    await hand.choosesFile('#folder', writeCell(cell));
    await hand.press('form.bring-in button');
    await this.storeWhatCame(hand);
  }

  /** Waits until what was sent is checked, looks at what would be stored, and stores it. */
  async storeWhatCame(hand: Hand): Promise<void> {
    await until(() => /\/intake\/staged\/|\/jobs\//.test(hand.at));
    await hand.atEndOfJob();
    await until(async () => {
      if (await hand.page.$('main form[action$="/store"]')) return true;
      const said = await hand.said();
      if (said.includes('nothing was stored')) throw new Error(said);
      await hand.open(hand.at);
      return null;
    });
    await hand.press('main form[action$="/store"] button');
    await hand.atEndOfJob();
    // The page that tells what was stored.
    expect(hand.at).toMatch(/\/intake\/[\w-]{22}$/);
  }

  /** The check of everything that is kept, without which nothing is released. */
  async checkFolder(): Promise<void> {
    const hand = this.hand(this.administrator.person);
    await hand.open(`${this.url}/protection`);
    await hand.press('form[action="/protection/check"] button');
    await hand.atEndOfJob();
    await hand.open(`${this.url}/protection`);
    expect(await hand.said()).toContain('none damaged');
  }

  /** Freezes a lot with the facts that came in, and assesses it. */
  async assess(person: string, lot: string): Promise<void> {
    const hand = this.hand(person);
    await hand.open(`${this.url}/lots/${lot}/papers`);
    await hand.press(`main form[action="/lots/${lot}/assess"] button`);
  }

  /** Follows the first link of the first page that leads to signing as one of these meanings; false when none is there. */
  async signNext(person: string, meanings: readonly string[]): Promise<boolean> {
    const hand = this.hand(person);
    await hand.open(this.url);
    const links = await hand.page.$$eval('a[href^="/sign?"]', (found) => found.map((one) => one.getAttribute('href')!));
    const href = links.find((link) => meanings.some((meaning) => link.includes(`meaning=${meaning}`)));
    if (href === undefined) return false;
    await hand.press(`a[href="${href}"]`);
    if (await hand.page.$('form[action^="/sign/lots/"]')) await hand.press('form[action^="/sign/lots/"] button');
    await hand.tick('input[name=units]:enabled');
    if (await hand.page.$('input[name=outcome]')) {
      await hand.tick('input[name=outcome][value=accepted]');
      await hand.fill('#reason', 'Invented rationale.');
    }
    await hand.fill('#password', this.passwordOf(person));
    await hand.press('form.sign button');
    expect([href, await hand.said()]).toEqual([href, expect.stringMatching(/^\s*Signed/)]);
    return true;
  }

  /** Everybody signs whatever the first page lists for them, in their order, until nothing is left. */
  async everybodySigns(): Promise<void> {
    for (let round = 0; round < MOST_ROUNDS; round++) {
      let signed = 0;
      for (const { person } of this.members) {
        while (await this.signNext(person, ['performed', 'checked', 'approved'])) signed++;
      }
      if (signed === 0) return;
    }
    throw new Error('they sign in circles');
  }

  /** The form of a handover of units of today, stored. */
  async handOver(person: string, by: string, now: string, units: readonly string[]): Promise<void> {
    const hand = this.hand(person);
    await hand.open(`${this.url}/enter/handover`);
    await hand.fill('[name=handover]', 'HO-1');
    await hand.press('button[value="more:implants"]');
    for (const [index, serial] of units.entries()) await hand.choose(`[name="implants[${index}]"]`, serial);
    await hand.fill('[name="to.institution"]', 'Clinic of the invented valley');
    await hand.fill('[name="to.address"]', 'Valley road 1');
    await hand.fill('[name=by]', by);
    await hand.fill('[name="at:local"]', now);
    await this.store(hand);
  }

  /** Checks a form, looks at what it says, and stores it. */
  async store(hand: Hand): Promise<void> {
    await hand.press('button[value=check]:not([tabindex])');
    expect([await hand.heading(), await hand.said()]).toEqual([
      expect.stringContaining('Check before you store'),
      expect.anything(),
    ]);
    await hand.press('form[action$="/store"] button');
  }
}
