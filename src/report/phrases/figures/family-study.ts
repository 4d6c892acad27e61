import { told } from './listed.js';

interface Numbers {
  readonly unit: string;
  readonly points: number;
  readonly lines: readonly string[];
  readonly flags: readonly string[];
}

/** Words of the charts of a family. */
export const STUDY_FIGURES = {
  value: (title: string, panel: string) => `${title}, lots over time${panel}`,
  ofMachine: (machine: string) => `, machine ${machine}`,
  single: 'single values',
  means: 'means',
  range: (title: string) => `${title}, moving range`,
  within: (title: string) => `${title}, spread within each point`,
  ewma: (title: string) => `${title}, exponentially weighted moving average`,
  cusumUp: (title: string) => `${title}, cumulative sum upwards`,
  cusumDown: (title: string) => `${title}, cumulative sum downwards`,
  alt: ({ unit, points, lines, flags }: Numbers) =>
    `${points} points over time, in ${unit}.${told('Lines', lines)}${told('Marked', flags)}`,
  caption: (shown: number, all: number) =>
    shown === all ? `All ${all} points of the window.` : `The last ${shown} of ${all} points; the table names all.`,
  unasked: ' The plan names no rule of this chart: a point beyond its limits is no signal here.',
  flag: (name: string, words: string) => `${name} ${words}`,
};

/** Short enough to stand beside a point. */
export const BESIDE_A_SIGNAL: Readonly<Record<string, string>> = {
  beyondLimit: 'beyond limit',
  beyondThreeSigma: 'beyond 3 sigma',
  nineOneSide: 'nine on one side',
  eightOneSide: 'eight on one side',
  sixSteady: 'six rising or falling',
  sevenSteady: 'seven rising or falling',
  fourteenAlternating: 'fourteen alternating',
  twoOfThreeBeyondTwoSigma: 'two of three beyond 2 sigma',
  fourOfFiveBeyondOneSigma: 'four of five beyond 1 sigma',
  fifteenWithinOneSigma: 'fifteen within 1 sigma',
  eightOutsideOneSigma: 'eight outside 1 sigma',
  movingRange: 'range beyond limit',
  ewma: 'average beyond limit',
  cusum: 'sum beyond limit',
};

interface Plotted {
  readonly group: string;
  readonly distribution: string;
  readonly are: 'values' | 'freed' | 'means';
  readonly bounds: number;
  readonly points: readonly unknown[];
}

/** Words of the plots of values against the distribution by which an index speaks. */
export const PROBABILITY_FIGURES = {
  title: (title: string, { group }: Plotted) => `${title}, probability plot${group === '' ? '' : `, ${group}`}`,
  freed: 'Freed of builds /standard deviations',
  expected: (distribution: string, unit: string) =>
    unit === ''
      ? `Expected of a ${distribution} distribution /standard deviations`
      : `Expected of the fitted ${distribution} distribution${unit}`,
  alt: ({ are, points }: Plotted, first: number, last: number) =>
    `${points.length} ${pointsText(are)} in order against where they would lie. The smallest lies ${offText(first)}, the largest ${offText(last)}.`,
  caption: (drawn: number, { distribution, are, bounds, points }: Plotted) =>
    `${drawn === points.length ? `All ${drawn} ${pointsText(are)}` : `${drawn} of ${points.length} ${pointsText(are)}, both ends among them`}, in order${
      are === 'freed' ? ', each freed of what those of one build have in common' : ''
    }: on the line but for chance where they are of a ${distribution} distribution. Ends that bend away show tails or skew that an index passes over.${
      bounds === 0 ? '' : ` ${bounds} more were reported only as a bound and have no place here.`
    }`,
};

const pointsText = (are: Plotted['are']): string => (are === 'means' ? 'means of builds' : 'values');

const offText = (deviations: number): string =>
  Math.abs(deviations) < 0.05
    ? 'on the line'
    : `${Math.abs(deviations).toFixed(1)} standard deviations ${deviations > 0 ? 'above' : 'below'} the line`;
