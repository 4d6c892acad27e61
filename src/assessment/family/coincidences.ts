import { CalculationError } from '../../base/errors.js';
import { oneWayAnova } from '../../statistics/anova.js';
import { levene } from '../../statistics/equal-variance.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';
import type { ChangeLine, Coincidences, StudyChart } from './study-result.js';

/** With fewer lots nearly every change has a signal beside it. */
export const LEAST_LOTS_TO_COMPARE = 25;
/** A change so many points before a signal may be what it came from: rules look back as far. */
const REACH = 9;
/** So many points before a change and after it are compared; the least on each side. */
const MOST_POINTS = 12;
const LEAST_POINTS = 3;

/**
 * Which changes lie where a chart signals, the closest first: the points before each are compared with those after it, in
 * their mean and in their spread. A hint, and no cause. Each probability is multiplied by the number of comparisons that
 * were made in all, signals or not (Bonferroni).
 */
export function coincidences({
  points,
  changes,
  signals,
}: Pick<StudyChart, 'points' | 'changes' | 'signals'>): Coincidences {
  const lots = new Set(points.map(({ lot }) => lot)).size;
  const none = { lots, least: LEAST_LOTS_TO_COMPARE, compared: 0, ranked: [] };
  if (lots < LEAST_LOTS_TO_COMPARE || signals.length === 0) return none;
  const tested = changes
    .filter((change) => !isTurn(change, points))
    .flatMap((change) => {
      const found = apart(points, change);
      return found === undefined ? [] : [{ change, ...found }];
    });
  const compared = tested.reduce((sum, { tests }) => sum + tests, 0);
  const ranked = tested
    .flatMap(({ change, p, by }) => {
      const near = signals.filter(({ first, last }) => change.before >= first - REACH && change.before <= last);
      const [signal] = near.sort((a, b) => a.last - b.last);
      return signal === undefined ? [] : [{ change, p, by, signal }];
    })
    .sort((a, b) => a.p - b.p || a.change.before - b.change.before || (a.change.what < b.change.what ? -1 : 1))
    .map(({ change, p, by, signal }) => ({
      ...{ before: change.before, what: change.what, from: change.from, to: change.to },
      ...{ signal: signal.id, by, p: stored(p), corrected: stored(Math.min(1, p * compared)) },
    }));
  return { ...none, compared, ranked };
}

/** Machines that take turns change nothing; one that was not there before may. */
export const isTurn = ({ what, to, before }: ChangeLine, points: StudyChart['points']): boolean =>
  what === 'machine' && points.slice(0, before).some(({ machine }) => machine === to);

/** How little the points around a change look alike; undefined where there are too few, or all are equal. */
function apart(
  points: StudyChart['points'],
  { before, machine }: ChangeLine,
): { readonly p: number; readonly by: 'mean' | 'spread'; readonly tests: number } | undefined {
  const own = ({ machine: of }: StudyChart['points'][number]) => machine === null || of === machine;
  const valuesOf = (some: StudyChart['points']) => some.filter(own).map(({ value }) => value);
  const sides = [
    valuesOf(points.slice(0, before)).slice(-MOST_POINTS),
    valuesOf(points.slice(before)).slice(0, MOST_POINTS),
  ];
  if (sides.some((side) => side.length < LEAST_POINTS) || sides.every((side) => moments(side).sd === 0))
    return undefined;
  const mean = oneWayAnova(sides).p;
  const spread = spreadApart(sides);
  if (spread !== undefined && spread < mean) return { p: spread, by: 'spread', tests: 2 };
  return { p: mean, by: 'mean', tests: spread === undefined ? 1 : 2 };
}

function spreadApart(sides: readonly (readonly number[])[]): number | undefined {
  try {
    return levene(sides).p;
  } catch (error) {
    if (error instanceof CalculationError) return undefined;
    throw error;
  }
}
