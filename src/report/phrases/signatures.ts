import { namesText, type Statement } from '../../dossier/statement.js';
import { timeText } from '../../dossier/time-text.js';
import { ABSENT } from './absent.js';
import { decisionOutcomeText, roleText } from './codes.js';
import { kindText } from './kinds.js';
import { signedAsText } from './release-steps.js';

/** The moment of a statement. */
export const signedAtText = ({ at }: Statement): string => timeText(at);

/** Behind whoever signed with a key that stands in the place of a lost one; nothing for a first key. */
export const recoveredText = ({ recoveredBy }: Pick<Statement['person'], 'recoveredBy'>): string =>
  recoveredBy === null ? '' : `, with a recovered key: ${recoveredBy.join(' and ') || 'nobody else'} vouched`;

/** Name, code and role; for a deputy whose place it was. */
export function signerText({ person }: Statement): string {
  const deputy = person.deputyFor === null ? '' : `, deputy for ${person.deputyFor}`;
  return `${person.name} (${person.code}), ${roleText(person.role)}${deputy}${recoveredText(person)}`;
}

/** The same with the first digits of the key that signed. */
export const signerKeyText = (statement: Statement): string =>
  `${signerText(statement)}, key ${statement.person.key.slice(0, 12)}`;

/** Where a page says who signed in one line: `Rita Example (releaser)`. */
export const signerInLineText = ({ person }: Pick<Statement, 'person'>): string =>
  `${person.name} (${roleText(person.role)}${recoveredText(person)})`;

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

/** Who looked after something: whoever signed that, else whom a file claims, said so; codes alone where there is little room. */
export function checkerText(signed: readonly Statement[], claimed: string | undefined, as: 'names' | 'codes'): string {
  const nameOf = ({ person }: Statement) =>
    as === 'codes' ? person.code : `${person.name} (${person.code}${recoveredText(person)})`;
  if (signed.length > 0) return [...new Set(signed.map(nameOf))].join(', ');
  return claimed ? `${claimed} (claimed, not signed)` : ABSENT.nobody;
}

/** What was signed or decided, by whom and when: `released for distribution by Rita Example (releaser) at 2031-03-06 12:00 UTC`. */
export const signedText = ({
  meaning,
  step,
  outcome,
  person,
  at,
}: Pick<Statement, 'meaning' | 'step' | 'outcome' | 'person' | 'at'>): string =>
  `${outcome === null ? signedAsText({ meaning, step }) : decisionOutcomeText(outcome)} by ${signerInLineText({ person })} at ${timeText(at)}`;
