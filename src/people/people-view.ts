import { qualificationSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import type { Person } from '../kinds/person.js';
import type { RecordedEvent } from '../ledger/event.js';
import { ACCOUNTS, accountEventText } from '../report/phrases/accounts.js';
import type { RecordedSignature } from '../store/signatures.js';
import { type Account, type AccountsByPerson, actingRoles } from './account-state.js';
import type { Failures } from './lockout.js';

/** An account in words, for the list of people and for the page of one. Times are those of the machine where said so. */
export interface AccountView {
  readonly person: string;
  readonly name: string;
  readonly closed: boolean;
  readonly state: string;
  readonly roles: readonly string[];
  readonly deputies: readonly { readonly text: string; readonly when: string; readonly note: string }[];
}

export function accountView(accounts: AccountsByPerson, account: Account, day: string, machineNow: Date): AccountView {
  return {
    person: account.person,
    name: account.name,
    closed: account.closedAt !== null,
    state: stateText(account, machineNow),
    roles: account.roles,
    deputies: deputyViews(accounts, account, day),
  };
}

function deputyViews(accounts: AccountsByPerson, account: Account, day: string): AccountView['deputies'] {
  const acting = actingRoles(accounts, account.person, day);
  return account.deputies.map(({ deputyFor, role, from, to }) => {
    const isActing = acting.some((one) => one.role === role && one.deputyFor === deputyFor);
    const note =
      to < day
        ? ACCOUNTS.over
        : from > day
          ? ACCOUNTS.toCome
          : isActing
            ? ACCOUNTS.actsNow
            : ACCOUNTS.isNoMore(deputyFor, role);
    return {
      text: ACCOUNTS.deputy(role, deputyFor, accounts.get(deputyFor)?.name ?? ACCOUNTS.unknownName),
      when: ACCOUNTS.span(from, to),
      note,
    };
  });
}

function stateText({ closedAt, passwordSetAt, invitation }: Account, machineNow: Date): string {
  if (closedAt !== null) return ACCOUNTS.closedSince(closedAt);
  const link = linkText(invitation, machineNow);
  if (passwordSetAt === null) return ACCOUNTS.noPassword(link ?? ACCOUNTS.noLink);
  return link === undefined ? ACCOUNTS.open : ACCOUNTS.openWith(link);
}

function linkText(invitation: Account['invitation'], machineNow: Date): string | undefined {
  if (invitation === null) return undefined;
  const { expiresAt } = invitation;
  return expiresAt > machineNow.toISOString() ? ACCOUNTS.linkOpen(expiresAt) : ACCOUNTS.linkRanOut(expiresAt);
}

/** What a file claims of a person's training, and who signed it here. */
export interface QualificationView {
  readonly operation: string;
  readonly from: string;
  readonly to: string;
  readonly evidence: string;
  readonly coversToday: boolean;
  readonly signed: readonly string[];
}

/** @param signatures those on any of the qualifications, by the digest of what they cover. */
export function qualificationViews(
  body: Person,
  signatures: ReadonlyMap<string, readonly RecordedSignature[]>,
  day: string,
): QualificationView[] {
  return body.qualifications.map((qualification) => {
    const { operation, from, to, evidence } = qualification;
    const { digest } = qualificationSubject(body.person, qualification);
    const signed = (signatures.get(digest) ?? []).map(({ signed: { statement } }) => {
      const { name, role } = statement.person;
      return ACCOUNTS.signed(statement.meaning, name, role, statement.at);
    });
    return {
      operation,
      from,
      to: to ?? ACCOUNTS.openEnd,
      evidence: evidence ?? '',
      coversToday: from <= day && (to === undefined || day <= to),
      signed,
    };
  });
}

export function failuresText(row: Failures | undefined, machineNow: Date): string {
  if (!row || row.failuresEver === 0) return ACCOUNTS.noFailures;
  const counted = ACCOUNTS.failures(row.failuresEver, row.lastFailureAt);
  const heldUntil = row.lockedUntil !== null && row.lockedUntil > machineNow.toISOString() ? row.lockedUntil : null;
  return heldUntil === null ? counted : counted + ACCOUNTS.heldBack(heldUntil);
}

/** The history of an account, oldest first, in words. The hash of a password never gets here. */
export function historyViews(events: readonly RecordedEvent[]) {
  return events.map(({ event, at, actor, reason }) => ({
    when: timeText(at),
    by: actor.replace(/^person:/, ''),
    says: accountEventText(event),
    reason: reason ?? '',
  }));
}
