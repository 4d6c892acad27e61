import type { Facts } from '../dossier/facts.js';
import { type Qualification, qualificationSubject } from '../dossier/signable.js';
import type { FindingDraft } from './checks/check.js';
import { subject } from './checks/check.js';
import { signedOn } from './signed.js';

/** Something that a person did on one day and had to be qualified for. */
export interface Work {
  readonly person: string;
  readonly operation: string;
  /** Moment with its offset: the calendar day is that of the place where it was done. */
  readonly at: string;
  /** What was done, in words: `ran build M1-101`. */
  readonly what: string;
  readonly units: readonly string[];
}

const dayOf = (moment: string): string => moment.slice(0, 10);

const covers = ({ from, to }: Qualification, day: string): boolean => from <= day && (to === undefined || day <= to);

/** A finding for each person and operation that nobody signed a qualification for on the day; units joined. */
export function unqualified(facts: Facts, works: readonly Work[]): FindingDraft[] {
  const found = new Map<string, FindingDraft & { units: string[] }>();
  for (const work of works) {
    const trouble = troubleWith(facts, work);
    if (!trouble) continue;
    const id = `${work.person} ${work.operation} ${trouble.rule} ${dayOf(work.at)}`;
    const known = found.get(id);
    const fresh = work.units.filter((unit) => !known?.units.includes(unit));
    if (known) known.units.push(...fresh);
    else {
      found.set(id, {
        ...trouble,
        subjects: [subject('person', work.person)],
        facts: { person: work.person, operation: work.operation, day: dayOf(work.at) },
        effect: 'cannot be decided',
        mayBeDecided: 'concession',
        units: [...fresh],
      });
    }
  }
  return [...found.values()];
}

type Trouble = Pick<FindingDraft, 'rule' | 'says' | 'clearedBy'>;

function troubleWith(facts: Facts, { person, operation, at, what }: Work): Trouble | undefined {
  const body = facts.people.get(person)?.body;
  const name = body ? `${body.name} (${person})` : person;
  const own = (body?.qualifications ?? []).filter((item) => item.operation === operation);
  const valid = own.filter((item) => covers(item, dayOf(at)));
  if (valid.some((item) => signedOn(facts, qualificationSubject(person, item), 'approved').length > 0))
    return undefined;
  const day = dayOf(at);
  if (valid.length > 0) {
    return {
      rule: 'qualification not signed',
      says: `${name} ${what} on ${day}; the qualification for "${operation}" is claimed by the file and nobody signed it.`,
      clearedBy: `Quality engineer, not ${person}: approve the qualification on the evidence of the training.`,
    };
  }
  const dates = own.map(({ from, to }) => `${from} to ${to ?? 'now'}`).join(', ');
  return {
    rule: own.length > 0 ? 'qualification not valid on the day' : 'not qualified',
    says:
      own.length > 0
        ? `${name} ${what} on ${day}; the qualification for "${operation}" is valid ${dates}.`
        : `${name} ${what} on ${day} and has no qualification for "${operation}".`,
    clearedBy:
      'Quality engineer: take in the record of the training that was valid on that day, or have the work repeated by a qualified person.',
  };
}
