import { personActor } from '../people/account-state.js';
import { entryText } from '../report/phrases/kinds.js';
import { subjectText } from '../report/phrases/signatures.js';
import type { Reads } from '../store/repositories.js';
import type { EnteredAct, SignedAct } from './traced.js';

/** What somebody did beside what documents say of them, by the last entry of the audit trail that counts. */

/** Name of the account of a person. */
export async function accountName(
  { events }: Pick<Reads, 'events'>,
  person: string,
  asOf = Number.POSITIVE_INFINITY,
): Promise<string | undefined> {
  for (const { event, ledgerSeq } of await events.ofTypes(['account-made'])) {
    if (ledgerSeq <= asOf && event.type === 'account-made' && event.person === person) return event.name;
  }
  return undefined;
}

/** Revisions that a person took in. @param asOf a moment. */
export async function enteredBy(
  { trace }: Pick<Reads, 'trace'>,
  person: string,
  asOf: string | undefined,
): Promise<EnteredAct[]> {
  const all = await trace.enteredBy(personActor(person));
  const found = all.filter(({ recordedAt }) => asOf === undefined || Date.parse(recordedAt) <= Date.parse(asOf));
  return found.map(({ kind, key, revision, recordedAt }) => ({
    at: recordedAt,
    what: entryText(kind, key, revision),
  }));
}

/** Statements of a person, the latest first. */
export async function signedBy(
  { signatures }: Pick<Reads, 'signatures'>,
  person: string,
  asOf = Number.POSITIVE_INFINITY,
): Promise<SignedAct[]> {
  const found = await signatures.by(person);
  return found
    .filter(({ ledgerSeq }) => ledgerSeq <= asOf)
    .reverse()
    .map(({ signed: { statement, digest } }) => ({
      at: statement.at,
      meaning: statement.meaning,
      step: statement.step,
      what: subjectText(statement),
      role: statement.person.role,
      reason: statement.reason,
      digest,
    }));
}
