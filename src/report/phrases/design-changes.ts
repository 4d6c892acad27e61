import type { Place } from '../../kinds/after-release/places.js';
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
} as const;
