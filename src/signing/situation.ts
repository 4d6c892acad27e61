import type { Assessment } from '../assessment/assessment.js';
import { doersAmong, type PartInLot, partsInLot } from '../assessment/parts-in-lot.js';
import type { LogPart } from '../dossier/schema.js';
import { qualificationSubject } from '../dossier/signable.js';
import type { Meaning, Role, Statement } from '../dossier/statement.js';
import { ACCOUNT_EVENTS } from '../ledger/event.js';
import { type AccountsByPerson, accountsFrom, actingRoles } from '../people/account-state.js';
import { type Act, needsEachRole } from '../people/acts.js';
import type { Candidate, Doers } from '../people/authority.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';

/** One thing that somebody may want to sign, with what was signed on it and who did what to it. */
export interface Situation {
  readonly signable: Signable;
  readonly act: Act;
  readonly earlier: readonly Statement[];
  readonly doers: Doers;
  /** Roles that have signed already, where an act needs one of each. */
  readonly taken: readonly Role[];
}

/** What a person holds on a day. A qualification counts once somebody signed it. */
export async function candidateOn(read: Reads, person: string, day: string): Promise<Candidate> {
  const accounts = accountsFrom(await read.events.ofTypes(ACCOUNT_EVENTS));
  const known = await read.entries.current('person', person);
  return (await candidatesFrom(read, accounts, [person], known ? [known] : [], day))[0]!;
}

/** The same for everybody with an open account. */
export async function candidatesOn(read: Reads, accounts: AccountsByPerson, day: string): Promise<Candidate[]> {
  const open = [...accounts.values()].filter((account) => account.closedAt === null).map(({ person }) => person);
  return candidatesFrom(read, accounts, open, await read.entries.list('person'), day);
}

/** @param documents of people, theirs among them. */
async function candidatesFrom(
  read: Reads,
  accounts: AccountsByPerson,
  people: readonly string[],
  documents: readonly StoredRevision<'person'>[],
  day: string,
): Promise<Candidate[]> {
  const covering = documents.flatMap(({ key: person, body }) =>
    body.qualifications
      .filter(({ from, to }) => people.includes(person) && from <= day && (to === undefined || day <= to))
      .map((item) => ({ person, operation: item.operation, digest: qualificationSubject(person, item).digest })),
  );
  const approved = new Set(
    (await read.signatures.on(covering.map(({ digest }) => digest)))
      .filter(({ signed }) => signed.statement.meaning === 'approved')
      .flatMap(({ signed }) => signed.statement.subjects.map(({ digest }) => digest)),
  );
  return people.map((code) => ({
    code,
    roles: actingRoles(accounts, code, day),
    qualifiedFor: covering
      .filter(({ person, digest }) => person === code && approved.has(digest))
      .map(({ operation }) => operation),
  }));
}

export async function situationOf(read: Reads, signable: Signable, act: Act): Promise<Situation> {
  const { subject, assessed } = signable;
  const earlier = (await read.signatures.on([subject.digest])).map(({ signed }) => signed.statement);
  const doers = { ...signable.doers, ...doersBy(earlier) };
  const situation = { signable, act, earlier, taken: takenRoles(act, earlier), doers };
  if (!assessed) return situation;
  const { facts, assessment } = assessed;
  const ids = findingIdsOf(facts.logParts.values(), assessment);
  return { ...situation, doers: { ...doers, ...(await doersOfLot(read, subject.key, partsInLot(facts), ids)) } };
}

/** Who did what to a thing, as far as the statements on it say. */
export function doersBy(earlier: readonly Statement[]): Doers {
  const by = (meaning: Meaning) => earlier.filter((one) => one.meaning === meaning).map(({ person }) => person.code);
  return { author: by('performed'), decided: by('decided'), reviewer: by('reviewed') };
}

/** Roles in which somebody signed already, where an act needs one of each. */
export const takenRoles = (act: Act, earlier: readonly Statement[]): Role[] =>
  needsEachRole(act) ? earlier.filter(isDecision).map(({ person }) => person.role) : [];

/**
 * Who built and tested a lot, and who decided on its findings, since its lot file was frozen too.
 * @param parts as its lot file tells them, or the documents that will go into it.
 */
export async function doersOfLot(
  read: Reads,
  lot: string,
  parts: readonly PartInLot[],
  findingIds: readonly string[],
): Promise<Doers> {
  const onFindings = [
    ...(await read.signatures.on(findingIds)),
    ...(await read.signatures.starting('check finding', `${lot}:`)),
    ...(await read.signatures.starting('log finding group', `${lot}:`)),
  ].map(({ signed }) => signed.statement);
  const since = onFindings.filter(isDecision).map(({ person }) => person.code);
  const { maker, tester, decider } = doersAmong(parts);
  return { maker, tester, decider: [...new Set([...decider, ...since])] };
}

const isDecision = ({ meaning }: Statement): boolean => meaning === 'decided';

/** Identities of everything that people may have decided on in a lot. */
export function findingIdsOf(logParts: Iterable<LogPart>, assessment: Assessment): string[] {
  const ids = [
    ...[...logParts].flatMap((part) => part.findings.map((finding) => finding.id)),
    ...assessment.checks.flatMap((check) => check.findings.map((finding) => finding.id)),
  ];
  return [...new Set(ids)].sort();
}
