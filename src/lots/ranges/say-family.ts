import type { RangeAxis } from '../../design-history/axes.js';
import type { ShownSet } from '../../design-history/shown-sets.js';
import type { ValuesAt } from '../../design-history/shown-settings.js';
import { RANGES, rangeAxisText } from '../../report/phrases/ranges.js';
import type { BuiltCases } from './built-cases.js';
import type { FamilyValues } from './family-values.js';
import type { PointsAnswered, RangesAnswer, SettingsAnswered, ValuesAnswered } from './ranges-answer.js';

const HOURS_PER_WEEK = 168;

/** Ranges of a family with the words that belong to them. */
export function rangesAnswer(family: string, values: FamilyValues, { windows, designs }: BuiltCases): RangesAnswer {
  return {
    ...{ family, caution: RANGES.caution },
    settings: values.settings.map((one) => settingsAnswered(one, values)),
    windows: windows.map((set) => pointsAnswered(set, set.zoneClass)),
    designs: designs.map((set) => pointsAnswered(set, '')),
    exposures: values.exposures.map(({ zoneClass, medium, mediumRevision, hours }) => {
      const weeks = Number((hours / HOURS_PER_WEEK).toFixed(1));
      const says = RANGES.exposure(zoneClass, medium, mediumRevision, weeks);
      return { zoneClass, medium, mediumRevision, weeks, says };
    }),
    leftOut: values.leftOut.map(({ why, ...one }) => ({ ...one, says: RANGES.leftOut({ ...one, why }) })),
  };
}

function settingsAnswered(
  { machine, zoneClass, axes, measured, points }: FamilyValues['settings'][number],
  { titles, counts }: FamilyValues,
): SettingsAnswered {
  return {
    ...{ machine, zoneClass },
    axes: axes.map(({ axis, ucum, validated }, index) => ({
      ...{ name: rangeAxisText(axis), ucum, validated: [...validated] },
      ...rangeOf(points.map(({ at }) => at[index]!)),
    })),
    measured: measured.map(({ exposed, ...one }) => ({
      ...{ ...one, title: titles.get(one.characteristic) ?? one.characteristic, exposed: exposed ?? null },
    })),
    points: points.map(({ at, recipes, values }) => ({
      ...{ at: [...at], recipes: [...recipes] },
      values: values.map((one, index) => one && valuesAnswered(one, measured[index]!.characteristic, counts)),
    })),
  };
}

const valuesAnswered = (
  { contexts, ...values }: ValuesAt,
  characteristic: string,
  counts: FamilyValues['counts'],
): ValuesAnswered => ({ ...values, ...counts(characteristic, contexts) });

const pointsAnswered = ({ axes, points }: ShownSet<RangeAxis, string>, zoneClass: string): PointsAnswered => ({
  zoneClass,
  axes: axes.map(({ axis, ucum }, index) => ({
    ...{ name: rangeAxisText(axis), ucum },
    ...rangeOf(points.map(({ at }) => at[index]!)),
  })),
  points: points.map(({ at, sources }) => ({ at: [...at], lots: [...sources] })),
});

function rangeOf(values: readonly string[]): { min: string; max: string; distinct: number } {
  const sorted = [...values].sort((a, b) => Number(a) - Number(b));
  return { min: sorted[0]!, max: sorted.at(-1)!, distinct: new Set(values.map(Number)).size };
}
