import type { Facts } from '../dossier/facts.js';
import { qualificationSubject } from '../dossier/signable.js';
import type { Qualification } from '../kinds/person.js';
import { subject } from './checks/check.js';
import type { FindingDraft } from './checks/finding-draft.js';
import { signedOn } from './signed.js';

/** Something that a person did on one day and had to be qualified for. */
export interface Work {
  readonly person: string;
  readonly operation: string;
  /** Moment with its offset: the calendar day is that of the place where it was done. */
  readonly at: string;
  readonly what: 'build' | 'test' | 'step';
  /** The build, the method or the step. */
  readonly on: string;
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
        facts: {
          ...trouble.facts,
          person: work.person,
          name: facts.people.get(work.person)?.body.name ?? '',
          operation: work.operation,
          work: work.what,
          workOn: work.on,
          day: dayOf(work.at),
        },
        effect: 'cannot be decided',
        mayBeDecided: 'concession',
        units: [...fresh],
      });
    }
  }
  return [...found.values()];
}

type Trouble = Pick<FindingDraft, 'rule' | 'facts'>;

function troubleWith(facts: Facts, { person, operation, at }: Work): Trouble | undefined {
  const body = facts.people.get(person)?.body;
  const own = (body?.qualifications ?? []).filter((item) => item.operation === operation);
  const valid = own.filter((item) => covers(item, dayOf(at)));
  if (valid.some((item) => signedOn(facts, qualificationSubject(person, item), 'approved').length > 0))
    return undefined;
  if (valid.length > 0) return { rule: 'qualification not signed', facts: {} };
  if (own.length === 0) return { rule: 'not qualified', facts: {} };
  // Intervals as ISO 8601 writes them, an open end as two dots.
  const validFor = own.map(({ from, to }) => `${from}/${to ?? '..'}`).join(', ');
  return { rule: 'qualification not valid on the day', facts: { validFor } };
}
