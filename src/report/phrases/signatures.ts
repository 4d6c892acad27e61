import type { Facts } from '../../dossier/facts.js';
import { namesText, type Statement } from '../../dossier/statement.js';
import { timeText } from '../../dossier/time-text.js';
import { decisionOutcomeText, meaningText, roleText } from './codes.js';
import { kindText } from './kinds.js';
import { stepText } from './trade-codes.js';

/** The moment of a statement with the offset that the person's place had. */
export function signedAtText({ at, offset }: Statement): string {
  const [, sign, hours, minutes] = /^([+-])(\d\d):(\d\d)$/.exec(offset)!;
  const shift = (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * 60_000;
  const local = new Date(Date.parse(at) + shift).toISOString().replace(/(\.\d+)?Z$/, '');
  return timeText(`${local}${offset === '+00:00' ? 'Z' : offset}`);
}

/** Name, code and role; for a deputy whose place it was. */
export function signerText({ person }: Statement): string {
  const deputy = person.deputyFor === null ? '' : `, deputy for ${person.deputyFor}`;
  return `${person.name} (${person.code}), ${roleText(person.role)}${deputy}`;
}

/** What a statement speaks of: `specification SP revision 3`, `lot file L-1, implants A and B`. */
export function subjectText({ subjects, units, outcome }: Statement): string {
  const names = subjects.map(({ key, revision }) => {
    const name = /^[0-9a-f]{64}$/.test(key) ? key.slice(0, 12) : key;
    return `${name}${revision === null ? '' : ` revision ${revision}`}`;
  });
  const implants = units.length === 0 ? '' : `, ${units.join(', ')}`;
  return `${kindText(subjects[0]!.kind)} ${namesText(names)}${implants}${outcome === null ? '' : `: ${decisionOutcomeText(outcome)}`}`;
}

/** First digits of what a statement covers. */
export const contentText = ({ subjects }: Statement): string =>
  namesText(subjects.map(({ digest }) => digest.slice(0, 12)));

/** What a person did for this lot beside signing this statement: what a reader needs to judge independence. */
export function independenceText(shown: { readonly facts: Facts }, statement: Statement): string {
  const parts = partsOf(shown, statement.person.code);
  return parts.length === 0 ? 'no other part in this lot' : `also ${parts.join('; ')}`;
}

function partsOf(shown: { readonly facts: Facts }, person: string): string[] {
  const { facts } = shown;
  const { lot } = facts;
  const measured = facts.results.filter((row) => row.analyst === person).length;
  const typed = facts.results.filter((row) => row.enteredBy === person).length;
  const builds = lot.body.builds.filter((build) => build.operator === person).map(({ build }) => build);
  const steps = lot.body.steps.filter((step) => step.by === person).map(({ step }) => step);
  const findings = findingsDecidedBy(facts, person);
  return [
    builds.length > 0 ? `operator of ${builds.join(', ')}` : '',
    measured > 0 ? `analyst of ${measured} value${measured === 1 ? '' : 's'}` : '',
    typed > 0 ? `typed ${typed} value${typed === 1 ? '' : 's'}` : '',
    steps.length > 0 ? `did ${[...new Set(steps)].map(stepText).join(', ')}` : '',
    findings > 0 ? `decided ${findings} finding${findings === 1 ? '' : 's'}` : '',
  ].filter(Boolean);
}

function findingsDecidedBy(facts: Facts, person: string): number {
  const decided = facts.signatures
    .map(({ statement }) => statement)
    .filter((statement) => statement.meaning === 'decided' && statement.person.code === person);
  return new Set(decided.flatMap(({ subjects }) => subjects.map(({ digest }) => digest))).size;
}

/** What was signed or decided, by whom and when: `released by Rita Example (releaser) at 2031-03-06 12:00 UTC`. */
export const signedText = ({
  meaning,
  outcome,
  person,
  at,
}: Pick<Statement, 'meaning' | 'outcome' | 'person' | 'at'>): string =>
  `${outcome === null ? meaningText(meaning) : decisionOutcomeText(outcome)} by ${person.name} (${roleText(person.role)}) at ${timeText(at)}`;
