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
