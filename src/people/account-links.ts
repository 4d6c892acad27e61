import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { Event } from '../ledger/event.js';
import { currentOf, type PersonKey, personKeyText } from '../ledger/person-keys.js';
import { accountObjectionText } from '../report/phrases/account-objections.js';
import type { Change } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { accountMade } from './account-made.js';
import {
  type Account,
  type AccountsByPerson,
  accountsIn,
  type Invitation,
  type OwnPassword,
  personActor,
} from './account-state.js';
import { Accounts } from './accounts.js';
import { addInvitation, signingAll, vouchingObjection } from './invitation.js';
import { clearPerson } from './lockout.js';
import { FIRST_LINK_HOURS, isOwnLink, keyOfLink, makeLink, type OneTimeLink } from './one-time-link.js';
import { keyFromSeed, makeSeed, type Pen, penOf, signWith, wrapSeed } from './own-key.js';
import { COST_OF_PASSWORDS, checkPassword, lockWith, PASSWORD_COST, type PasswordCost } from './passwords.js';
import { Proof } from './proof.js';
import { givenReason } from './reason.js';

/** Whom a key is made for, and by which link; none for the first administrator. */
interface Invited {
  readonly person: string;
  readonly name: string;
  readonly link: {
    readonly token: string;
    readonly made: Pick<PersonKey, 'link' | 'replaces' | 'endorsements'>;
  } | null;
}

/** What one-time links open: the first account, and the password of every account. */
@Injectable()
export class AccountLinks {
  /**
   * @param machine clock for links; the clock of a demo folder stands still.
   * @param cost of trying a password that is set here; whoever has the database can guess at this price.
   */
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
    @Optional() @Inject(COST_OF_PASSWORDS) private readonly cost: PasswordCost = PASSWORD_COST,
  ) {}

  /** A new link for the first administrator, in place of any earlier one; undefined once there is an account. */
  async makeFirstLink(): Promise<OneTimeLink | undefined> {
    if ((await this.accounts.people()).size > 0) return undefined;
    const link = makeLink(this.store.secret, null, this.machine.now(), FIRST_LINK_HOURS);
    return this.store.change('program', async (change) => {
      if ((await accountsIn(change)).size > 0) return undefined;
      const { tokenSha256, expiresAt } = link;
      await change.events.add({ type: 'administrator-link-made', tokenSha256, expiresAt });
      return link;
    });
  }

  /**
   * A new link for an administrator who cannot sign in, made at the machine. Everybody sees on the first page that it was.
   * @param actor account of the machine under which the command runs.
   * @param proofs of others who vouch for the administrator: two, or fewer where so many others never had a key.
   * @throws AppError NOT_FOUND for a person without an account, REFUSED for one who is no administrator: an administrator
   * makes links for all others; and REFUSED when too few people vouch.
   */
  async recover(person: string, actor: string, reason: string, proofs: readonly Proof[] = []): Promise<OneTimeLink> {
    const given = givenReason(reason, 'say why the administrator cannot sign in');
    const link = makeLink(this.store.secret, person, this.machine.now(), FIRST_LINK_HOURS);
    return signingAll(proofs, (pens) =>
      this.store.change(actor, async (change) => {
        const accounts = await accountsIn(change);
        const isAdministrator = (code: string) => accounts.get(code)?.roles.includes('administrator') === true;
        const account = accounts.get(person);
        if (!account) throw new NotFoundError('account', person);
        if (!isAdministrator(person)) throw noAdministrator(account.name);
        const { keys } = (await change.events.knownKeys()).people;
        const vouching = proofs.map((one) => one.person);
        const objection = vouchingObjection(keys, person, vouching);
        if (objection) throw new AppError('REFUSED', accountObjectionText(objection));
        if (currentOf(keys, person) === undefined && !vouching.some(isAdministrator)) throw firstKeyOf(account.name);
        return addInvitation(change, account, link, { pens, reason: given, atMachine: true });
      }),
    );
  }

  /**
   * Makes the first administrator, who alone gives a role to themselves.
   * @throws AppError REFUSED when the link is not the latest one, has run out, or somebody was faster; BadInputError for
   * a code, name or password that will not do.
   */
  async makeFirst(token: string, { person, name, password }: { person: string; name: string; password: string }) {
    checkPassword(password, { person, name });
    const tokenSha256 = sha256Hex(token);
    await this.withOwnKey({ person, name, link: null }, password, (key, own, pen) =>
      this.store.change(personActor(person), async (change) => {
        await this.checkFirstLink(token, await change.events.ofTypes(['administrator-link-made', 'account-made']));
        await change.events.add({ type: 'person-key-made', ...key });
        await change.events.act(accountMade({ person, name, identityCheckedOn: null }), [pen]);
        await change.events.act({ type: 'role-given', person, role: 'administrator' }, [pen]);
        await change.events.add({ type: 'password-set', person, ...own, invitation: tokenSha256 });
      }),
    );
  }

  private checkFirstLink(token: string, events: readonly { event: Event }[]): void {
    const made = events.some(({ event }) => event.type === 'account-made');
    const latest = events.findLast(({ event }) => event.type === 'administrator-link-made')?.event;
    if (made || latest?.type !== 'administrator-link-made' || latest.tokenSha256 !== sha256Hex(token))
      throw unknownLink();
    if (!isOwnLink(this.store.secret, token, null, latest.expiresAt)) throw unknownLink();
    if (latest.expiresAt <= this.machine.now().toISOString()) throw ranOut(latest.expiresAt);
  }

  /**
   * For whom a link is, without using it.
   * @throws AppError REFUSED when it is unknown, used, replaced or has run out.
   */
  async openLink(
    token: string,
  ): Promise<{ readonly first: true } | { readonly first: false; readonly account: Account }> {
    const accounts = await this.accounts.people();
    if (accounts.size > 0) return { first: false, account: this.invited(accounts, token) };
    this.checkFirstLink(token, await this.store.read.events.ofTypes(['administrator-link-made']));
    return { first: true };
  }

  /** The same for the page behind the link: why it does not work, or for whom it is; nobody has an account with the first. */
  async findLink(
    token: string,
  ): Promise<{ readonly why: string } | { readonly why: null; readonly account: Account | undefined }> {
    try {
      const link = await this.openLink(token);
      return { why: null, account: link.first ? undefined : link.account };
    } catch (error) {
      if (error instanceof AppError && error.code === 'REFUSED') return { why: error.message };
      throw error;
    }
  }

  private invited(accounts: AccountsByPerson, token: string): Account & { invitation: Invitation } {
    const tokenSha256 = sha256Hex(token);
    const account = [...accounts.values()].find((one) => one.invitation?.tokenSha256 === tokenSha256);
    if (!account?.invitation) throw unknownLink();
    const { expiresAt } = account.invitation;
    if (!isOwnLink(this.store.secret, token, account.person, expiresAt)) throw unknownLink();
    if (expiresAt <= this.machine.now().toISOString()) throw ranOut(expiresAt);
    return { ...account, invitation: account.invitation };
  }

  /**
   * Sets the password of the person to whom a one-time link was given, makes the key that it unlocks, and ends their
   * sessions.
   * @throws AppError REFUSED when the link is unknown, used, replaced or has run out, or nobody vouches for it any more;
   * BadInputError for a weak password.
   */
  async setPassword(token: string, password: string): Promise<Account> {
    const tokenSha256 = sha256Hex(token);
    const { person, name, invitation } = this.invited(await this.accounts.people(), token);
    checkPassword(password, { person, name });
    return this.withOwnKey({ person, name, link: { token, made: invitation } }, password, (key, own) =>
      this.store.change(personActor(person), async (change) => {
        const account = this.invited(await accountsIn(change), token);
        await change.events.add({ type: 'person-key-made', ...key });
        const { keys } = (await change.events.knownKeys()).people;
        // Whoever vouched may have left since, or got another key.
        if (currentOf(keys, person)?.fingerprint !== key.fingerprint) throw nobodyVouches();
        await this.recordPassword(change, person, own, tokenSha256);
        return account;
      }),
    );
  }

  /** Makes a new key, with all that vouches for it, and locked by the password; what opens it is wiped when `work` ends. */
  private async withOwnKey<T>(
    { person, name, link }: Invited,
    password: string,
    work: (key: PersonKey, own: OwnPassword, pen: Pen) => Promise<T>,
  ): Promise<T> {
    const { lock, secret } = await lockWith(password, this.cost);
    const made = makeSeed();
    try {
      const { publicPem, fingerprint } = made;
      const facts = { person, name, fingerprint, replaces: link?.made.replaces ?? null, link: link?.made.link ?? null };
      const text = personKeyText(facts);
      const key: PersonKey = {
        ...facts,
        publicPem,
        endorsements: [...(link?.made.endorsements ?? [])],
        linkSignature: link && signWith(keyOfLink(link.token), text),
        acceptance: signWith(keyFromSeed(made.seed), text),
        installation: this.store.key.fingerprint,
        signature: this.store.key.sign(text).toString('base64'),
      };
      const wrapped = wrapSeed(made, person, secret);
      return await work(key, { lock, wrapped }, penOf(person, name, wrapped, secret));
    } finally {
      made.seed.fill(0);
      secret.fill(0);
    }
  }

  /** Replaces the password of the person who has just proved the old one: their key stays, and their sessions end. */
  async changePassword(proof: Proof, password: string): Promise<void> {
    const { person, name } = proof;
    checkPassword(password, { person, name });
    const { lock, secret } = await lockWith(password, this.cost);
    try {
      const wrapped = Proof.rewrap(proof, secret);
      const own = { lock, wrapped };
      await this.store.change(personActor(person), (change) => this.recordPassword(change, person, own, null));
    } finally {
      secret.fill(0);
    }
  }

  private async recordPassword(
    change: Change,
    person: string,
    own: OwnPassword,
    invitation: string | null,
  ): Promise<void> {
    await change.events.add({ type: 'password-set', person, ...own, invitation });
    await change.identity.endSessionsOf(person);
    await clearPerson(change, this.store, person);
  }
}

const nobodyVouches = () =>
  new AppError('REFUSED', 'nobody whose key counts vouches for this link any more; ask for a new one');

const unknownLink = () =>
  new AppError(
    'REFUSED',
    'this link is unknown, was used before, or a newer one has taken its place; ask for a new one',
  );

const noAdministrator = (name: string) =>
  new AppError(
    'REFUSED',
    `${name} is no administrator: an administrator makes a new one-time link on the page /people`,
  );

const firstKeyOf = (name: string) =>
  new AppError('REFUSED', `${name} has no key yet: an administrator must be among those who vouch for the first one`);

const ranOut = (expiresAt: string) =>
  new AppError('REFUSED', `this link ran out at ${expiresAt.slice(0, 16).replace('T', ' ')} UTC; ask for a new one`);
