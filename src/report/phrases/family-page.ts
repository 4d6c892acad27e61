import { counted } from './counted.js';
import { ruleText } from './family-study.js';

type Says = 'able' | 'not able' | 'too few' | 'not stated' | 'no plan' | 'not counted';

const COUNTED: Readonly<Record<Says, string>> = {
  able: 'able',
  'not able': 'not able',
  'too few': 'with too few builds to say',
  'not stated': 'without a statement',
  'no plan': 'without a signed plan',
  'not counted': 'not counted yet',
};

/** Words of the page of a family. */
export const FAMILY_PAGE = {
  counts: (all: readonly Says[]) =>
    `${counted(all.length, 'characteristic')}: ${(Object.keys(COUNTED) as Says[])
      .map((says) => [all.filter((one) => one === says).length, COUNTED[says]] as const)
      .filter(([count]) => count > 0)
      .map(([count, words]) => `${count} ${words}`)
      .join(', ')}.`,
  noPlan: 'No signed capability plan is in force: points without limits, and no index.',
  notCounted: 'Not counted yet: load the page again.',
  noSignal: 'No signal.',
  cell: (mean: number | null, n: number, bounds: number) =>
    mean === null
      ? bounds === 0
        ? ''
        : `${bounds} as bounds`
      : `${Number(mean.toPrecision(5))} (${n}${bounds === 0 ? '' : ` and ${bounds} as bounds`})`,
  beyond: 'beyond a limit',
  became: (kind: string, count: number) => `${kind}: ${count}`,
} as const;

export const newestSignalText = (
  { rule, point, isOpen }: { readonly rule: string; readonly point: string; readonly isOpen: boolean },
  count: number,
): string =>
  `${counted(count, 'signal')}, the newest at ${point}: ${ruleText(rule)}${isOpen ? '; nobody said yet what it came from' : ''}.`;

/** Words of its charts. */
export const FAMILY_FIGURE = {
  caption: (shown: number, isPlanned: boolean) =>
    isPlanned
      ? `The last ${counted(shown, 'point')} of the chart of the plan.`
      : `Means of the last ${counted(shown, 'build')}.`,
};

/** Words of the charts of counts. */
export const COUNT_FIGURE = {
  findings: 'Log findings of each build',
  nonconformities: 'Nonconformities that touch each lot',
  count: 'count',
  beyond: 'beyond limit',
  caption: (shown: number) =>
    `The ${counted(shown, 'count')} of this page of the table. Limits are those of a count chart over them, and move with them: a look, and no signal of a plan.`,
};
