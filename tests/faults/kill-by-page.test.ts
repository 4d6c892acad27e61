import type { ChildProcess } from 'node:child_process';
import http from 'node:http';
import { setTimeout as sleep } from 'node:timers/promises';
import { soleSubject } from '../../src/dossier/statement.js';
import type { Event } from '../../src/ledger/event.js';
import { auditLedger } from '../../src/store/sqlite/ledger-audit.js';
import { formNumber } from '../../src/web/form-once.js';
import { writeCell } from '../support/cell.js';
import { uniformNumbers } from '../support/numbers.js';
import { PASSWORD, provedActs } from '../support/people.js';
import { openServices, type Services } from '../support/services.js';
import { hiddenIn, signPage } from '../support/sign-form.js';
import { SigningCell } from '../support/signing-cell.js';
import { killsOf, started, tellKills } from './command.js';

/** Acts of people that no command does: the service is killed while it answers their forms. */

const LONG = Boolean(process.env.LOTWRIGHT_TEST_LONG);
/** One act, once, in the daily run. */
const KILLS = killsOf(100, 1);
const SEED = 20311201;

let cell: SigningCell;
let data: string;
/** Revisions of a method that came in: each kill signs, or withdraws, one of its own. */
let revisions = 1;

beforeAll(async () => {
  cell = await SigningCell.open();
  data = cell.folder.path;
  await cell.review('L-1');
  await cell.close();
});

interface PageAct {
  readonly name: string;
  readonly person: string;
  /** Brings about what the act is done to. */
  readonly prepare?: (services: Services) => Promise<void>;
  readonly address: () => string;
  /** @param form what the page shows of itself. @param reason names this one act. */
  readonly fields: (form: Record<string, string>, reason: string) => Record<string, string>;
  /** Where its form stands, when it is not its address. */
  readonly page?: () => string;
  /** How often it was done with this reason. */
  readonly count: (services: Services, reason: string) => Promise<number>;
}

const events =
  (type: Event['type']) =>
  async ({ store }: Services, reason: string): Promise<number> =>
    (await store.read.events.ofTypes([type])).filter((one) => one.reason === reason).length;

const unitAct = (name: string, slug: string, person: string, type: Event['type']) => ({
  ...{ name, person, address: () => `/lots/L-1/acts/${slug}`, count: events(type) },
  fields: (_form: object, reason: string) => ({ units: 'L-1-I1', reason, password: PASSWORD }),
});

async function nextRevision({ intake }: Services): Promise<void> {
  revisions += 1;
  const file = 'site/method-size.yaml';
  const documents = { [file]: { ...cell.cell.documents[file], revision: revisions } };
  await intake.run(writeCell({ documents, sheets: {}, files: {} }), 'local:tester');
}

const ACTS: readonly PageAct[] = [
  unitAct('hold', 'hold', 'P-OP', 'hold-placed'),
  {
    ...unitAct('lift', 'lift-hold', 'P-QE', 'hold-lifted'),
    prepare: async ({ stateActs, accounts }) =>
      stateActs.placeHold(await accounts.prove('P-OP', PASSWORD), 'L-1', ['L-1-I1'], 'a scratch'),
  },
  {
    ...unitAct('revoke', 'revoke', 'P-RE', 'release-revoked'),
    prepare: async ({ signing, accounts, store }) => {
      // The clock of a demo stands still, and what is signed again is another statement.
      store.folder.advanceTo(new Date(store.clock.now().getTime() + 1000).toISOString());
      const release = { meaning: 'released', step: 'distribution', units: ['L-1-I1'] } as const;
      const things = [{ kind: 'lot file', key: 'L-1', revision: null, digest: null }];
      await signing.sign(await accounts.prove('P-RE', PASSWORD), { things, ...release });
    },
  },
  {
    name: 'role',
    person: 'P-AD',
    prepare: async (services) => {
      if (!(await services.accounts.state('P-OP'))!.account.roles.includes('analyst')) return;
      await provedActs(services).takeRole('P-AD', 'P-OP', 'analyst', 'moved');
    },
    address: () => '/people/P-OP/give-role',
    fields: (_form, reason) => ({ role: 'analyst', reason, ownPassword: PASSWORD }),
    count: events('role-given'),
  },
  {
    name: 'deputy',
    person: 'P-AD',
    prepare: async (services) => {
      const deputy = { person: 'P-AN', deputyFor: 'P-PE', role: 'process engineer' } as const;
      const named = (await services.store.read.events.ofTypes(['deputy-named'])).length;
      const ended = (await services.store.read.events.ofTypes(['deputy-ended'])).length;
      if (named > ended) await provedActs(services).endDeputy('P-AD', deputy, 'back');
    },
    address: () => '/people/P-AN/name-deputy',
    fields: (_form, reason) => ({
      ...{ deputyFor: 'P-PE', role: 'process engineer', from: '2031-03-05', to: '2031-03-09' },
      ...{ reason, ownPassword: PASSWORD },
    }),
    count: events('deputy-named'),
  },
  {
    name: 'withdraw',
    person: 'P-PE',
    prepare: nextRevision,
    address: () => `/withdraw/method/TM-S/${revisions}`,
    fields: (_form, reason) => ({ reason, password: PASSWORD }),
    count: events('document-withdrawn'),
  },
  {
    name: 'sign by page',
    person: 'P-PE',
    prepare: nextRevision,
    page: () => signPage(`method:TM-S@${revisions}`, 'performed'),
    address: () => '/sign',
    fields: (form) => ({ ...form, password: PASSWORD }),
    count: async ({ store }) =>
      (await store.read.signatures.of({ kind: 'method', key: 'TM-S' })).filter(
        ({ signed }) => soleSubject(signed.statement).revision === revisions,
      ).length,
  },
];

interface Answer {
  readonly status: number;
  readonly headers: http.IncomingHttpHeaders;
  readonly text: string;
}

/** A service of its own process, and somebody who stays signed in while it is killed and started again. */
class Killed {
  private child: ChildProcess | undefined;
  private url = '';
  private session: { readonly Cookie: string; readonly 'X-CSRF-Token': string } | undefined;

  constructor(private readonly person: string) {}

  async start(): Promise<void> {
    this.child = started(data, 'serve', '--port', '0');
    this.child.stderr!.resume();
    this.url = await new Promise<string>((resolve, reject) => {
      let said = '';
      this.child!.once('close', (code) => reject(new Error(`the service ended with ${code}: ${said}`)));
      this.child!.stdout!.setEncoding('utf8').on('data', (text: string) => {
        said += text;
        const at = /(http:\S+) /.exec(said);
        if (at) resolve(at[1]!);
      });
    });
    this.session ??= await this.signIn();
  }

  private async signIn() {
    const body = JSON.stringify({ person: this.person, password: PASSWORD });
    const { headers, text } = await this.ask('POST', '/api/v1/session', { 'content-type': 'application/json' }, body);
    return { Cookie: headers['set-cookie']![0]!.split(';')[0]!, 'X-CSRF-Token': JSON.parse(text).csrf as string };
  }

  async form(at: string): Promise<Record<string, string>> {
    const { status, text } = await this.ask('GET', at, this.session!);
    expect([at, status]).toEqual([at, 200]);
    return hiddenIn(text);
  }

  /** @returns the status of the answer, and undefined where none came. */
  async send(at: string, fields: Record<string, string>): Promise<number | undefined> {
    const headers = { ...this.session!, 'content-type': 'application/x-www-form-urlencoded' };
    try {
      return (await this.ask('POST', at, headers, new URLSearchParams(fields).toString())).status;
    } catch {
      return undefined;
    }
  }

  /** Over a connection of its own: one that is kept open may be closed just then. */
  private ask(method: string, at: string, headers: object, body = ''): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const asked = http.request(this.url + at, { method, headers: { ...headers }, agent: false }, (response) => {
        let text = '';
        response.setEncoding('utf8').on('data', (more: string) => {
          text += more;
        });
        response.on('end', () => resolve({ status: response.statusCode!, headers: response.headers, text }));
        response.on('error', reject);
      });
      asked.on('error', reject).end(body);
    });
  }

  async kill(): Promise<void> {
    if (this.child!.exitCode !== null || this.child!.signalCode !== null) return;
    const ended = new Promise((resolve) => this.child!.once('close', resolve));
    this.child!.kill('SIGKILL');
    await ended;
  }
}

/** What the folder holds; its audit trail is whole. */
async function withServices<T>(look: (services: Services) => Promise<T>): Promise<T> {
  const services = await openServices(data);
  try {
    const found = await look(services);
    expect(await auditLedger(services.store.folder.database)).toMatchObject({ ok: true });
    return found;
  } finally {
    await services.store.close();
  }
}

it.each(LONG ? ACTS : ACTS.slice(0, 1))(
  '$name: what was acknowledged is there, nothing is half, and the form that is sent again acts once',
  async ({ name, person, prepare, address, page = address, fields, count }) => {
    const random = uniformNumbers(SEED);
    const service = new Killed(person);
    onTestFinished(() => service.kill());
    let acknowledged = 0;
    let wholeMs = 0;
    let last: { readonly at: string; readonly form: Record<string, string>; readonly reason: string } | undefined;
    for (let kill = 0; ; kill += 1) {
      await service.start();
      if (last) {
        // As a browser sends a form again that was not answered.
        const again = await service.send(last.at, last.form);
        const { reason } = last;
        expect([reason, again, await withServices((services) => count(services, reason))]).toEqual([reason, 303, 1]);
      }
      if (kill > KILLS) break;
      // Commands share the folder with a service.
      if (prepare) await withServices(prepare);
      const reason = `${name} ${kill}`;
      last = {
        at: address(),
        reason,
        form: { ...fields(await service.form(page()), reason), 'form-number': formNumber() },
      };
      const begun = performance.now();
      const answer = service.send(last.at, last.form);
      // The first one is left alone: it says how long an act takes here.
      if (kill === 0) await answer;
      else await sleep(wholeMs * 1.2 * random());
      if (kill === 0) wholeMs = performance.now() - begun;
      await service.kill();
      const isAcknowledged = (await answer) === 303;
      if (kill > 0 && isAcknowledged) acknowledged += 1;
      const done = await withServices((services) => count(services, reason));
      expect([reason, done]).toEqual([reason, isAcknowledged ? 1 : expect.toBeOneOf([0, 1])]);
    }
    tellKills(name, KILLS, acknowledged);
  },
);
