import { axisName, type RangeAxis } from './axes.js';
import { type Place, placeOf } from './ranges.js';
import { onAxes, type ShownSet, type Stated } from './shown-sets.js';

/** What is said of something new beside what was shown. */
export const RANGE_OUTCOMES = [
  'shown',
  'inside',
  'in ranges only',
  'outside',
  'not comparable',
  'nothing shown',
] as const;
export type RangeOutcome = (typeof RANGE_OUTCOMES)[number];

export interface Beside {
  readonly outcome: RangeOutcome;
  /** The set that has the same axes; undefined where none has. */
  readonly set: number | undefined;
  readonly place: Place | undefined;
  /** Of the set that differs least where none has the same axes. */
  readonly onlyDemanded: readonly RangeAxis[];
  readonly onlyShown: readonly RangeAxis[];
}

export type PointsOfSet = Pick<ShownSet<RangeAxis, unknown>, 'axes'> & {
  readonly points: readonly { readonly at: readonly string[] }[];
};

/**
 * Where what is demanded stands beside the sets that could be compared with it. Only a set on the very same axes can: a
 * setting that is not known of either side may change everything.
 */
export function standBeside(sets: readonly PointsOfSet[], demanded: readonly Stated<RangeAxis>[]): Beside {
  if (sets.length === 0) return { ...NOTHING, outcome: 'nothing shown' };
  const found = sets.map((set) => onAxes(set, demanded, axisName));
  const index = found.findIndex((one) => 'at' in one);
  const same = found[index];
  if (same !== undefined && 'at' in same) {
    const place = placeOf(
      sets[index]!.points.map(({ at }) => at),
      same.at,
    )!;
    return { ...NOTHING, outcome: outcomeOf(place), set: index, place };
  }
  const others = found.flatMap((one) => ('at' in one ? [] : [one]));
  const differs = (one: (typeof others)[number]) => one.onlyDemanded.length + one.onlyShown.length;
  const nearest = others.reduce((least, one) => (differs(one) < differs(least) ? one : least));
  return {
    ...{ outcome: 'not comparable', set: undefined, place: undefined },
    onlyDemanded: nearest.onlyDemanded.map(({ axis }) => axis),
    onlyShown: nearest.onlyShown,
  };
}

const NOTHING = { set: undefined, place: undefined, onlyDemanded: [], onlyShown: [] };

function outcomeOf({ isShown, isInHull, isInRanges }: Place): RangeOutcome {
  if (isShown) return 'shown';
  if (isInHull) return 'inside';
  return isInRanges ? 'in ranges only' : 'outside';
}

/** Of each thing asked where it stands: what a worker thread does. */
export const standAll = (
  asked: readonly { readonly sets: readonly PointsOfSet[]; readonly demanded: readonly Stated<RangeAxis>[] }[],
): Beside[] => asked.map(({ sets, demanded }) => standBeside(sets, demanded));
