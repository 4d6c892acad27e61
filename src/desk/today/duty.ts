/** What a duty is about: where there are many, they stand together by this. */
export type Topic = 'sign' | 'decide' | 'make' | 'held' | 'wrong' | 'ends' | 'installation' | 'question';

/** One line of what a person should do or know today: what, for which implant, by when, and one button. */
export interface Duty {
  readonly topic: Topic;
  readonly what: string;
  /** The lot or the thing that it is about. */
  readonly of: { readonly text: string; readonly href: string } | null;
  /** Serials, where it is about some implants alone. */
  readonly units: readonly string[];
  /** Day, such as `2031-05-04`; null where there is none. */
  readonly by: string | null;
  /** It should be done by now. */
  readonly overdue: boolean;
  readonly button: { readonly text: string; readonly href: string };
  /** What stands first on the summary of what is to be released. */
  readonly summary?: readonly string[];
  /** What the log showed around a finding. */
  readonly picture?: { readonly src: string; readonly alt: string };
}

/** Soonest first; what has no day comes last, in the order in which it was told. */
export const soonestFirst = (duties: readonly Duty[]): Duty[] =>
  [...duties].sort((a, b) => (a.by ?? '9999').localeCompare(b.by ?? '9999', 'en'));

/** As many are read as one list. */
const MOST_AS_ONE = 8;

/** The lines of each topic together, that of the soonest line first; few lines are one group without a topic. */
export function inGroups(
  duties: readonly Duty[],
): { readonly topic: Topic | null; readonly duties: readonly Duty[] }[] {
  const sorted = soonestFirst(duties);
  if (sorted.length <= MOST_AS_ONE) return sorted.length === 0 ? [] : [{ topic: null, duties: sorted }];
  const groups = new Map<Topic, Duty[]>();
  for (const duty of sorted) groups.set(duty.topic, [...(groups.get(duty.topic) ?? []), duty]);
  return [...groups].map(([topic, found]) => ({ topic, duties: found }));
}
