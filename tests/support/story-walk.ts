import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { systemClock } from '../../src/base/clock.js';
import type { Role } from '../../src/dossier/statement.js';
import { createApplication } from '../../src/main.js';
import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import type { Document } from '../../src/qualification/names.js';
import { writeAct } from '../../src/qualification/run-demo.js';
import type { Act } from '../../src/qualification/scenario.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { temporaryFolder } from './cell.js';
import { CHEAPEST, PASSWORD, provedActs } from './people.js';
import { hasField, linksOn, type Seat, saidOn, valuesOn } from './seat.js';

/** Five people. The operator keeps the accounts too; whoever writes documents comes last, so that others look first. */
export const FIVE: readonly { readonly person: string; readonly name: string; readonly roles: readonly Role[] }[] = [
  { person: 'JV', name: 'Joris Veldkamp', roles: ['administrator'] },
  { person: 'TO', name: 'Tomas Okoro', roles: ['quality engineer'] },
  { person: 'SA', name: 'Sefa Aydin', roles: ['releaser', 'regulatory'] },
  { person: 'AL', name: 'Ada Lindmark', roles: ['process engineer', 'case designer'] },
  { person: 'IM', name: 'Ines Marbach', roles: ['analyst'] },
];
const WRITES = 'AL';
const REVIEWS = 'TO';
const MOST_ROUNDS = 12;
const WITHOUT_LIMITS = { requestsPerMinute: 1e6, changesPerMinute: 1e6, signInsPerMinute: 1e6, bodyMs: 60_000 };

/** What waits on a page for one signature. */
interface Duty {
  readonly href: string;
  readonly meaning: string;
  readonly lot: string;
}

/** An installation on a clock of its own, used by five people through its pages alone. */
export class StoryWalk {
  private readonly seats = new Map<string, Seat>();

  private constructor(
    readonly data: DataFolder,
    private readonly store: Store,
    private readonly app: NestExpressApplication,
    private readonly scenario: string,
  ) {}

  /** @param at when it begins. @param newSeat a place before the pages of an address. */
  static async open(at: string, newSeat: (url: string) => Promise<Seat>): Promise<StoryWalk> {
    const root = temporaryFolder('stories');
    const data = DataFolder.createDemo(path.join(root, 'data'), at);
    const store = await Store.open(data);
    const app = await createApplication(store, { limits: WITHOUT_LIMITS });
    await app.listen(0, '127.0.0.1');
    const url = (await app.getUrl()).replace('[::1]', '127.0.0.1');
    const walk = new StoryWalk(data, store, app, path.join(root, 'scenario'));
    await walk.makeAccounts();
    for (const { person } of FIVE) {
      const seat = await newSeat(url);
      await seat.open('/sign-in');
      await seat.send('/sign-in', { person, password: PASSWORD });
      walk.seats.set(person, seat);
    }
    return walk;
  }

  async close(): Promise<void> {
    await this.app.close();
    await this.store.close();
  }

  seat(person: string): Seat {
    return this.seats.get(person)!;
  }

  /** Where accounts are made is walked elsewhere (tests/browser/first-release.test.ts). */
  private async makeAccounts(): Promise<void> {
    const [accounts, accountActs] = [this.app.get(Accounts), this.app.get(AccountActs)];
    const links = new AccountLinks(this.store, accounts, systemClock, CHEAPEST);
    const [administrator, ...others] = FIVE;
    const { token } = (await links.makeFirstLink())!;
    await links.makeFirst(token, { ...administrator!, password: PASSWORD });
    const by = administrator!.person;
    const acts = provedActs({ accounts, accountActs });
    for (const { person, name, roles } of others) {
      const made = { person, name, identityCheckedOn: accounts.today() };
      const { token: own } = await accountActs.make(await accounts.prove(by, PASSWORD), made);
      await links.setPassword(own, PASSWORD);
      for (const role of roles) await acts.giveRole(by, person, role);
    }
  }

  advanceTo(at: string): void {
    this.data.advanceTo(at);
  }

  /** Sends what an act of the scenario brings, looks at what would be stored, stores it, and everybody signs what is theirs. */
  async bringIn(act: Pick<Act, 'folder' | 'files'>): Promise<void> {
    const { documents, texts, ...more } = act.files();
    if (Object.keys(documents).length + Object.keys(texts).length === 0) return;
    const folder = path.join(this.scenario, act.folder);
    writeAct({ folder: act.folder, files: () => ({ documents, texts, ...more }) }, this.scenario);
    const seat = this.seat(WRITES);
    await seat.sendFolder(folder);
    if (!seat.html.includes('/store"')) throw new Error(`${act.folder} was not taken in: ${saidOn(seat)}`);
    await seat.send(`${seat.at}/store`);
    await this.everybodySigns();
  }

  /** Types a document into its form, from where a link leads, and stores it. What the form shows already is left. */
  async enter(address: string, document: Document): Promise<void> {
    const seat = this.seat(WRITES);
    await seat.open(address);
    const form = `${address.split('?')[0]}/`;
    const filled: Record<string, string> = {};
    for (const [field, text] of fieldsOf(document)) {
      await reach(seat, form, field);
      const isMoment = hasField(seat, `${field}:local`);
      filled[isMoment ? `${field}:local` : field] = isMoment ? text.replace(/(?::00)?Z$/, '') : text;
    }
    await seat.send(form, filled, 'check');
    if (!saidOn(seat).includes('Nothing is stored yet')) throw new Error(`not stored: ${saidOn(seat)}`);
    await seat.send(form);
    await this.everybodySigns();
  }

  async assess(lot: string): Promise<void> {
    const seat = this.seat(REVIEWS);
    await seat.open(`/lots/${lot}/papers`);
    await seat.send(`/lots/${lot}/assess`);
  }

  /** Everybody signs whatever their first page lists: documents, results, dispositions. Lots wait for their close-out. */
  async everybodySigns(): Promise<void> {
    const OF_LOTS = ['decided', 'reviewed', 'released', 'rejected'];
    await this.signAll(({ meaning, lot }) => lot === '' || !OF_LOTS.includes(meaning));
  }

  /** Decides, reviews and releases one lot, as far as it may be released. It is frozen anew when facts came in since. */
  async closeOut(lot: string): Promise<void> {
    const OF_LOT_FILE = ['reviewed', 'released', 'rejected'];
    do await this.assess(lot);
    while ((await this.signAll((duty) => duty.lot === lot && !OF_LOT_FILE.includes(duty.meaning))) > 0);
    await this.signAll((duty) => duty.lot === lot && duty.meaning !== 'rejected');
  }

  /** Signs that implants of a lot are rejected, from its page. */
  async reject({ lot, units, reason }: { lot: string; units: readonly string[]; reason: string }): Promise<void> {
    const seat = this.seat('TO');
    await seat.open(`/lots/${lot}`);
    const [href] = linksOn(seat, '/sign?').filter((link) => link.includes('meaning=rejected'));
    if (href === undefined) throw new Error(`nothing of lot ${lot} is to be rejected: ${saidOn(seat)}`);
    await this.sign('TO', href, { units, reason });
  }

  /** Somebody wants to release what a condition of the day holds back. */
  async beRefused(lot: string, why: RegExp): Promise<void> {
    const said = await this.closeOut(lot).then(
      () => 'everything was signed',
      (error: Error) => error.message,
    );
    if (!why.test(said)) throw new Error(`lot ${lot} was not refused as it should be: ${said}`);
  }

  /** @returns how often somebody signed. */
  private async signAll(isMeant: (duty: Duty) => boolean): Promise<number> {
    let signed = 0;
    for (let round = 0; round < MOST_ROUNDS; round++) {
      const before = signed;
      for (const { person } of FIVE) while (await this.signNext(person, isMeant)) signed++;
      if (signed > before) continue;
      await this.nobodyIsStuck();
      return signed;
    }
    throw new Error('they sign in circles');
  }

  /** That nothing waits for a signature that none of the five may give. */
  private async nobodyIsStuck(): Promise<void> {
    const seat = this.seat(REVIEWS);
    await seat.open('/');
    const stuck = /Nobody may .{0,80} at present/.exec(saidOn(seat));
    if (stuck) throw new Error(`a deadlock: ${saidOn(seat)}`);
  }

  private async signNext(person: string, isMeant: (duty: Duty) => boolean): Promise<boolean> {
    const seat = this.seat(person);
    await seat.open('/');
    const duties = linksOn(seat, '/sign?').map((href): Duty => {
      const asked = new URLSearchParams(href.split('?')[1]);
      return { href, meaning: asked.get('meaning')!, lot: lotIn(asked.get('thing')!) };
    });
    const duty = duties.find(({ meaning, ...rest }) => meaning === 'decided' && isMeant({ meaning, ...rest }));
    const next = duty ?? duties.find(isMeant);
    if (next === undefined) return false;
    await this.sign(person, next.href);
    return true;
  }

  /** Signs what a link leads to, for all implants that may be chosen or some of them. @throws Error when it is not signed. */
  async sign(person: string, href: string, more: { units?: readonly string[]; reason?: string } = {}): Promise<void> {
    const seat = this.seat(person);
    await seat.open(href);
    if (seat.html.includes('action="/sign/lots/')) await seat.send('/sign/lots/');
    const reason =
      more.reason ?? 'Invented rationale: it was looked at under the microscope and in the log (fictional).';
    await seat.send('/sign', {
      password: PASSWORD,
      ...(hasField(seat, 'units') ? { units: more.units ?? valuesOn(seat, 'units') } : {}),
      ...(hasField(seat, 'outcome') ? { outcome: 'accepted' } : {}),
      ...(href.includes('meaning=decided') || more.reason !== undefined ? { reason } : {}),
    });
    if (!seat.at.startsWith('/signed/')) throw new Error(`${person} could not sign ${href}: ${saidOn(seat)}`);
  }

  /** Issues the record of a lot on its page. @returns its PDF, and where it lies. */
  async record(lot: string): Promise<string> {
    const seat = this.seat(REVIEWS);
    await seat.open(`/lots/${lot}/papers`);
    await seat.send(`/lots/${lot}/records`);
    const record = (await this.store.read.records.ofLot(lot)).at(-1)!;
    return this.data.recordFile(record.number, record.revision);
  }
}

/** The lot of what a signature is on, as far as its name says it. */
const lotIn = (thing: string): string =>
  /^(?:lot file|check finding|log finding group|custom statement):([^:#]+)/.exec(thing)?.[1] ?? '';

/** The values of a document by the names of its fields in a form: `disposition[0].units[0]`. */
function fieldsOf(value: unknown, at = ''): [string, string][] {
  if (Array.isArray(value)) return value.flatMap((item, index) => fieldsOf(item, `${at}[${index}]`));
  if (typeof value !== 'object' || value === null) return [[at, String(value)]];
  return Object.entries(value).flatMap(([name, inner]) => fieldsOf(inner, at === '' ? name : `${at}.${name}`));
}

/** Opens the rows and groups in which a field stands, by their buttons. */
async function reach(seat: Seat, form: string, field: string): Promise<void> {
  const isThere = () => hasField(seat, field) || hasField(seat, `${field}:local`);
  for (const place of [...field.matchAll(/[.[]/g)].map(({ index }) => field.slice(0, index))) {
    if (isThere()) return;
    for (const button of [`more:${place}`, `open:${place}`]) {
      if (!isThere() && seat.html.includes(`value="${button}"`)) await seat.send(form, {}, button);
    }
  }
}
