import { Controller, Get, Header, Param } from '@nestjs/common';
import { systemClock } from '../base/clock.js';
import { NotFoundError } from '../base/errors.js';
import { qualificationSubject } from '../dossier/signable.js';
import { byDigest } from '../dossier/statement.js';
import type { Person } from '../kinds/person.js';
import { ACCOUNTS } from '../report/phrases/accounts.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import type { RecordedSignature } from '../store/signatures.js';
import { Store } from '../store/store.js';
import { Access, NoCases } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { Accounts, mayKeepAccounts } from './accounts.js';
import { Actor } from './actor.js';
import { failuresOf } from './lockout.js';
import { PERSON_ACTS } from './people-acts.js';
import { accountView, failuresText, historyViews, qualificationViews } from './people-view.js';

/** Who works here, in which roles, and for what they are trained. */
@Controller('people')
export class PeopleController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  async list(): Promise<string> {
    const accounts = await this.accounts.people();
    const day = this.accounts.today();
    const now = systemClock.now();
    const documents = await this.documents();
    const signatures = await this.signaturesOn([...documents.values()]);
    const failures = await failuresOf(this.store, [...accounts.keys()]);
    const people = [...accounts.values()].map((account) => {
      const document = documents.get(account.person);
      const qualifications = document ? qualificationViews(document, signatures, day) : [];
      return {
        ...accountView(accounts, account, day, now),
        failures: failuresText(failures.of(account.person), now),
        claimed: qualifications.length,
        signed: qualifications.filter((one) => one.signed.length > 0).length,
      };
    });
    return this.pages.render('people', PAGE_TITLES.people, {
      people: people.sort((a, b) => Number(a.closed) - Number(b.closed) || a.person.localeCompare(b.person, 'en')),
      withoutAccount: [...documents.values()].filter(({ person }) => !accounts.has(person)),
      unknownFailures: failures.unknown,
      keeps: this.keepsAccounts,
      day,
    });
  }

  @Access('signed in')
  @NoCases()
  @Get(':person')
  @Header(...HTML)
  async show(@Param('person', NAMED) person: string): Promise<string> {
    const accounts = await this.accounts.people();
    const account = accounts.get(person);
    const document = (await this.documents()).get(person);
    if (!account && !document) throw new NotFoundError('person', person);
    const day = this.accounts.today();
    const now = systemClock.now();
    const signatures = await this.signaturesOn(document ? [document] : []);
    const failures = await failuresOf(this.store, [person]);
    const events = await this.store.read.events.of({ kind: 'account', key: person });
    return this.pages.render('person', account?.name ?? document!.name, {
      person,
      account,
      view: account && accountView(accounts, account, day, now),
      deputiesFor: [...accounts.values()].flatMap((one) =>
        one.deputies
          .filter(({ deputyFor }) => deputyFor === person)
          .map(({ role, from, to }) => ACCOUNTS.deputyOf(one.name, one.person, role, from, to)),
      ),
      failures: failuresText(failures.of(person), now),
      document,
      qualifications: document ? qualificationViews(document, signatures, day) : [],
      history: historyViews(events),
      acts: this.keepsAccounts && account?.closedAt === null ? PERSON_ACTS : [],
      keeps: this.keepsAccounts,
    });
  }

  private get keepsAccounts(): boolean {
    const { person, acting } = this.actor.session;
    return mayKeepAccounts(person, acting).may;
  }

  private async documents(): Promise<Map<string, Person>> {
    const revisions = await this.store.read.entries.list('person');
    return new Map(revisions.map(({ key, body }) => [key, body]));
  }

  private async signaturesOn(documents: readonly Person[]): Promise<Map<string, RecordedSignature[]>> {
    const digests = documents.flatMap((document) =>
      document.qualifications.map((one) => qualificationSubject(document.person, one).digest),
    );
    return byDigest(await this.store.read.signatures.on(digests), ({ signed }) => signed.statement);
  }
}
