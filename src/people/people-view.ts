import { qualificationSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import type { Person } from '../kinds/person.js';
import type { Event, RecordedEvent } from '../ledger/event.js';
import type { LockoutRow } from '../store/identity-rows.js';
import type { RecordedSignature } from '../store/signatures.js';
import { type Account, type AccountsByPerson, actingRoles } from './account-state.js';
import { MOST_FAILURES } from './lockout.js';

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
      to < day ? 'over' : from > day ? 'to come' : isActing ? 'acts now' : `${deputyFor} is not ${role} any more`;
    return {
      text: `${role} for ${deputyFor} (${accounts.get(deputyFor)?.name ?? 'unknown'})`,
      when: `${from} to ${to}`,
      note,
    };
  });
}

function stateText({ closedAt, passwordSetAt, invitation }: Account, machineNow: Date): string {
  if (closedAt !== null) return `closed since ${timeText(closedAt)}`;
  const link = linkText(invitation, machineNow);
  if (passwordSetAt === null) return `no password yet; ${link ?? 'no link is open'}`;
  return link === undefined ? 'open' : `open; ${link}`;
}

function linkText(invitation: Account['invitation'], machineNow: Date): string | undefined {
  if (invitation === null) return undefined;
  const until = timeText(invitation.expiresAt);
  return invitation.expiresAt > machineNow.toISOString()
    ? `one-time link open until ${until}`
    : `one-time link ran out ${until}`;
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
      return `${statement.meaning} by ${name}, ${role}, ${timeText(statement.at)}`;
    });
    return {
      operation,
      from,
      to: to ?? 'open end',
      evidence: evidence ?? '',
      coversToday: from <= day && (to === undefined || day <= to),
      signed,
    };
  });
}

export function failuresText(row: LockoutRow | undefined, machineNow: Date): string {
  if (!row || row.failuresEver === 0) return 'none';
  const last = `last ${timeText(row.lastFailureAt)}`;
  if (row.failures >= MOST_FAILURES) return `${row.failuresEver}, ${last}; locked until a new one-time link is used`;
  const locked = row.lockedUntil !== null && row.lockedUntil > machineNow.toISOString();
  return `${row.failuresEver}, ${last}${locked ? `; held back until ${timeText(row.lockedUntil!)}` : ''}`;
}

/** The history of an account, oldest first, in words. The hash of a password never gets here. */
export function historyViews(events: readonly RecordedEvent[]) {
  return events.map(({ event, at, actor, reason }) => ({
    when: timeText(at),
    by: actor.replace(/^person:/, ''),
    says: eventText(event),
    reason: reason ?? '',
  }));
}

function eventText(event: Event): string {
  switch (event.type) {
    case 'account-made':
      return `account made for ${event.name}; identity ${event.identityCheckedOn === null ? 'not checked: first administrator' : `checked on ${event.identityCheckedOn}`}`;
    case 'account-closed':
      return 'account closed';
    case 'invitation-made':
      return `one-time link made, open until ${timeText(event.expiresAt)}`;
    case 'password-set':
      return event.invitation === null ? 'password changed' : 'password set by one-time link';
    case 'role-given':
      return `role given: ${event.role}`;
    case 'role-taken':
      return `role taken: ${event.role}`;
    case 'deputy-named':
      return `named deputy of ${event.deputyFor} as ${event.role}, ${event.from} to ${event.to}`;
    case 'deputy-ended':
      return `deputy of ${event.deputyFor} as ${event.role} ended`;
    case 'act-refused':
      return `refused to ${event.person}: ${event.act}; ${event.why}`;
    default:
      return event.type;
  }
}
