import type { ChangeState } from '../../design-history/change-state.js';
import type { Place } from '../../kinds/after-release/places.js';
import type { TouchedLine } from '../../kinds/design-history/design-change.js';
import { capital } from './capital.js';
import { counted } from './counted.js';
import { kindText } from './kinds.js';
import { placeText } from './places.js';

interface Changed {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

const changedText = ({ kind, key, revision }: Changed): string => `${kindText(kind)} ${key} revision ${revision}`;

/** What a change of a design touches, line by line. */
export const CHANGE_LINES = {
  place: (place: Place, held: boolean) => `${placeText(place)}${held ? ' and on hold' : ''}`,
  places: (counts: readonly (readonly [place: string, count: number])[]) =>
    counts.length === 0 ? 'no implant' : counts.map(([place, count]) => `${count} ${place}`).join(', '),
  names: (changed: Changed) => `names ${changedText(changed)}`,
  namedBy: (changed: Changed) => `named by ${changedText(changed)}`,
  restsOn: (lots: readonly string[]) => `rests on lot ${lots.join(', ')}`,
  verifiedBy: (studies: readonly string[]) => `shown to work by ${studies.join(', ')}`,
  states: (characteristic: string) => `states the capability of ${characteristic}`,
  holds: (lots: readonly string[]) => `has units of lot ${lots.join(', ')}`,
  head: (change: string, lines: number, entries: number) =>
    `Change ${change} touches ${counted(lines, 'thing')} as of entry ${entries} of the audit trail:`,
  nothing: (change: string) => `Change ${change} touches nothing that is on record.`,
  line: ({
    sort,
    key,
    says,
    answer,
  }: {
    readonly sort: string;
    readonly key: string;
    readonly says: string;
    readonly answer?: string | undefined;
  }) => `${sort} ${key}: ${says}${answer === undefined ? '' : `. Answer: ${answer}`}`,
  taken: (change: string, revision: number) =>
    `Revision ${revision} of change ${change} holds this list. Answer each line in a further revision: the change is closed then.`,
  decided: (change: string) =>
    `change ${change} was decided with a list: what was frozen then stays. Open a further change for what came since`,
  wasDecided: (change: string) => `change ${change} was decided already: open a further change for another decision`,
  notYet: (change: string, state: string) =>
    `change ${change} cannot be decided to be made yet (${state}): list what it touches, and answer each line first`,
  cameSince: (change: string, came: readonly string[]) =>
    `change ${change} cannot be decided to be made yet: since its list was frozen came ${came.slice(0, 3).join('; ')}${came.length > 3 ? ` and ${came.length - 3} more` : ''}: list again, and answer them first`,
  revised: (change: string, now: number, seen: number) =>
    `change ${change} has revision ${now} now, and you looked at revision ${seen}: read it again, nothing was taken in`,
} as const;

export const CHANGE_STATE_WORDS: Readonly<Record<ChangeState, string>> = {
  'not listed': 'nobody listed what it touches',
  'list altered': 'its list is not the one that was frozen',
  'lines open': 'lines have no answer yet',
  'to be decided': 'each line has an answer: it can be decided',
  'to be approved': 'decided, and not approved yet',
  closed: 'closed: each line has an answer, and the decision is approved',
  stopped: 'stopped: it is not made',
};

/** What people call each sort of thing that a change touches. */
export const TOUCHED_SORT_WORDS: Readonly<Record<TouchedLine['sort'], string>> = {
  lot: 'Lots made by what it does away with, and where their units are',
  entry: 'Documents that name it or that it names',
  study: 'Studies that rest on it',
  statement: 'Statements of capability',
  risk: 'Risks to look at again',
  'to be told': 'Who has units and is to be told',
};

/** The page of a change, and its forms. */
export const CHANGE_FORM = {
  says: (
    { lines, answered }: { readonly lines: number; readonly answered: number },
    state: ChangeState,
    cameSince = false,
  ): string =>
    `${capital(state === 'to be decided' && cameSince ? CHANGE_FORM.listFirst : CHANGE_STATE_WORDS[state])}.${lines === 0 ? '' : ` ${answered} of ${counted(lines, 'line')} answered.`}`,
  listFirst: 'each line has an answer, but more came since its list was frozen: list again before it is decided',
  list: 'List what it touches',
  listAgain: 'List again as of now',
  listHint:
    'The list is frozen by its SHA-256 in a further revision of the change. Answers to lines that stay as they are are kept.',
  answerHint:
    'What follows for each, such as tested again, told, or why nothing follows. Leave open what you do not know yet.',
  answer: 'Take the answers in',
  answerTo: (what: string) => `What follows for ${what}`,
  noAnswer: { expected: 'at least one answer', remedy: 'say what follows for one of the lines' },
  noLine: {
    expected: 'a line of the list that has no answer yet',
    remedy: 'read the list again, and answer the lines that it shows; nothing was taken in',
  },
  dropped: (line: string, answer: string) =>
    `Your answer to "${line}" is not in the form any more, since that line has an answer now or left the list. You wrote: ${answer}`,
  decide: 'Decide',
  decideHint:
    'A change is decided to be made once each line has an answer and nothing came since it was listed. Author and quality engineer then sign the revision.',
  go: 'It is made',
  stop: 'It is not made',
  document: 'The document, its signatures, and where it came from and went',
  cameHint:
    'Touched now, and not in the frozen list. While the change is open, list again; one that was decided needs a further change.',
  shown: (shown: number, open: number) => `The first ${shown} of ${open} lines without an answer; the others follow.`,
  labels: { answers: 'Answers', decision: 'Decision' },
  led: (change: string) => `design change ${change}`,
} as const;
