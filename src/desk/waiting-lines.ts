import { kindNamed } from '../kinds/catalogue.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import { THINGS } from '../report/phrases/things.js';
import { signAddresses } from '../signing/sign-address.js';
import { thingFrom } from '../signing/thing.js';
import type { Waiting } from '../signing/waiting-list.js';

/** What one person signs in one go: things of one sort are signed together, with one proof of identity. */
export interface WaitingLine {
  readonly title: string;
  readonly act: string;
  readonly meaning: Waiting['meaning'];
  /** Identity of the log finding that it is about, or its first digits; null for all else, and for several. */
  readonly finding: string | null;
  readonly signsAs: string;
  readonly lot: string | null;
  readonly units: readonly string[];
  readonly neededBy: string | null;
  readonly href: string;
  readonly who: readonly string[];
  /** How many things it stands for. */
  readonly count: number;
  /** It covers the lot as it stands, and not something in it. */
  readonly ofLotFile: boolean;
}

/** One line for each act of signing, in the order of what waits. */
export function waitingLines(items: readonly Waiting[]): WaitingLine[] {
  const groups = new Map<string, Waiting[]>();
  for (const item of items) {
    const key = `${sortOf(item)} ${item.meaning} ${item.step} ${item.who.join()}`;
    groups.set(key, [...(groups.get(key) ?? []), item]);
  }
  return [...groups.values()].flatMap((group) => {
    const { act, meaning, step, lot, neededBy, who, units } = group[0]!;
    const titles = new Map(group.map((item) => [item.thing, item.title]));
    return signAddresses([...titles.keys()], meaning).map(({ things, href }) => ({
      title: things.length === 1 ? titles.get(things[0]!)! : THINGS.alike(titles.get(things[0]!)!, things.length),
      ...{ act, meaning, finding: findingIn(things) },
      signsAs: signedAsText({ meaning, step }),
      lot,
      units,
      neededBy,
      href: step === null ? href : `${href}&step=${step}`,
      who,
      count: things.length,
      ofLotFile: thingFrom(things[0]!).kind === 'lot file',
    }));
  });
}

/** A group is named with its lot before its identity. */
function findingIn(things: readonly string[]): string | null {
  const [first, ...more] = things.map((thing) => thingFrom(thing));
  if (first === undefined || more.length > 0) return null;
  return first.kind === 'log finding' || first.kind === 'log finding group' ? first.key.split(':').at(-1)! : null;
}

/** Things of one sort can be signed in one act: findings that are alike, or of one kind, of one lot and of no case. */
function sortOf({ thing, group, lot }: Waiting): string {
  if (group !== null) return group;
  const { kind } = thingFrom(thing);
  const isAlone = kind === 'lot file' || kind === 'custom statement' || kindNamed(kind)?.caseOf !== undefined;
  return isAlone ? thing : `${kind} ${lot}`;
}
