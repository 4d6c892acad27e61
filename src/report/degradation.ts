import { currentResults } from '../assessment/specimens.js';
import { AppError } from '../base/errors.js';
import { convert } from '../base/units.js';
import { residualSection } from '../degradation/residual-section.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Family } from '../kinds/family.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import { degradationChart, type StrengthCurve } from './charts/degradation.js';
import type { LotFigure } from './lot-figure.js';

type Support = NonNullable<Family['support']>;

/** What is left at the end of the healing window when the measured bench rate went on unchanged. */
export interface Holding {
  /** `slowest`, `mean`, `fastest`. */
  readonly rate: string;
  readonly mmPerYear: number;
  readonly sizeLeftMm: number;
  readonly strengthLeft: number;
  readonly holds: boolean;
}

export interface DegradationView {
  readonly support: Support;
  readonly item: Characteristic;
  readonly rows: readonly (ResultRow & { readonly row: number })[];
  readonly holdings: readonly Holding[];
}

/** The characteristic that tells how fast the metal goes: the one that the family names, else one in mm/a. */
export function degradationItems(facts: Facts): Characteristic[] {
  const named = facts.family.body.support?.rate;
  const { characteristics } = facts.specification.body;
  return characteristics.filter((item) => item.characteristic === named || (named === undefined && isRate(item.ucum)));
}

function isRate(ucum: string): boolean {
  try {
    convert('1', ucum, 'mm/a');
    return true;
  } catch (error) {
    if (error instanceof AppError) return false;
    throw error;
  }
}

/** What the measured rates would leave of the section, or in words why it cannot be said. */
export function degradationView(facts: Facts): DegradationView | { readonly why: string } {
  const { support } = facts.family.body;
  if (!support) return { why: 'The family states no healing window and no load-bearing section.' };
  const item = facts.specification.body.characteristics.find((one) => one.characteristic === support.rate);
  if (!item) return { why: `The specification has no characteristic "${support.rate}", which the family names.` };
  const rows = currentResults(facts).filter((row) => row.characteristic === item.characteristic);
  if (rows.length === 0) return { why: `${item.title} was not measured.` };
  if (rows.some((row) => readReported(row.value).qualifier !== '')) {
    return { why: 'A rate was reported only as below or above a value, which is not enough to compute with.' };
  }
  if (!isRate(item.ucum)) return { why: `${item.ucum} is no loss of depth per time.` };
  const rates = rows.map((row) => Number(convert(row.value, item.ucum, 'mm/a')));
  if (rates.some((rate) => rate < 0)) return { why: 'A rate below zero was reported.' };
  const holdings = [
    holding(support, 'slowest', Math.min(...rates)),
    holding(support, 'mean', rates.reduce((sum, rate) => sum + rate, 0) / rates.length),
    holding(support, 'fastest', Math.max(...rates)),
  ];
  return { support, item, rows, holdings };
}

const sectionAt = (support: Support, rateMmPerYear: number, weeks: number) =>
  residualSection({
    shape: support.shape,
    sizeMm: Number(support.sizeMm),
    rateMmPerYear,
    weeks,
    localisationFactor: support.localisationFactor === undefined ? undefined : Number(support.localisationFactor),
  });

function holding(support: Support, rate: string, mmPerYear: number): Holding {
  const { sizeLeftMm, strengthLeft } = sectionAt(support, mmPerYear, support.weeks);
  return { rate, mmPerYear, sizeLeftMm, strengthLeft, holds: strengthLeft >= Number(support.strengthLeft) };
}

/** What the computation takes for granted, said where it is shown. */
export function assumptionsOf({ support }: DegradationView): string[] {
  const factor = support.localisationFactor;
  return [
    'The metal goes at the rate of the bench from the first day and always alike; the body does not work like the bench.',
    factor === undefined
      ? 'Loss is uniform: a pit that goes deeper than the mean takes more than is shown.'
      : `The deepest attack is ${factor} times the mean, as the family states, and acts as if it were everywhere.`,
    support.shape === 'plate'
      ? 'A plate loses from both faces and keeps its width; bending strength goes with the square of what is left.'
      : 'A round core loses all around; bending strength goes with the third power of what is left.',
    'Metal that is left is as strong as on the first day.',
  ];
}

const DASHES: Readonly<Record<string, readonly [number, number] | undefined>> = {
  slowest: [2, 2],
  mean: undefined,
  fastest: [7, 3],
};

/** Strength left over the weeks, half as long again as the window. */
export function degradationFigure(view: DegradationView): LotFigure {
  const { support, holdings, item } = view;
  const weeks = Math.max(support.weeks + 2, Math.ceil(support.weeks * 1.5));
  const shown = holdings[0]!.mmPerYear === holdings[2]!.mmPerYear ? [holdings[1]!] : holdings;
  const curves = shown.map((one): StrengthCurve => {
    const dash = DASHES[one.rate];
    return {
      label: `${one.rate} rate of the bench, ${Number(one.mmPerYear.toPrecision(3))} mm/year`,
      strengthLeft: Array.from(
        { length: weeks + 1 },
        (_, week) => sectionAt(support, one.mmPerYear, week).strengthLeft,
      ),
      ...(dash ? { dash } : {}),
    };
  });
  const limit = Number(support.strengthLeft);
  return {
    scene: degradationChart(
      {
        title: `Bending strength of a ${support.shape} section of ${support.sizeMm} mm, computed from ${item.title.toLowerCase()}`,
        curves,
        window: { weeks: support.weeks, strengthLeft: limit },
        notes: [],
      },
      textMetric,
    ),
    alt: `Computed bending strength over ${weeks} weeks; at week ${support.weeks} between ${percentText(holdings[2]!.strengthLeft)} and ${percentText(holdings[0]!.strengthLeft)} are left, at least ${percentText(limit)} are asked for.`,
    caption: `Computed, not measured: what would be left of the section if the rate of the bench went on unchanged. The hatched field is what must not be reached inside the healing window.`,
  };
}

export const percentText = (fraction: number): string => `${Number((100 * fraction).toPrecision(3))} %`;

/** The conditions under which a characteristic was tested. */
export function conditionsOf(facts: Facts, { method }: Characteristic): string {
  return facts.methods.get(revisionKey(method.method, method.revision))?.body.conditions ?? 'not stated by the method';
}
