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
import { NO_STRENGTH, STRENGTH_ASSUMPTIONS, STRENGTH_LEFT } from './phrases/figures/degradation.js';

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
  if (!support) return { why: NO_STRENGTH.noSupport };
  const item = facts.specification.body.characteristics.find((one) => one.characteristic === support.rate);
  if (!item) return { why: NO_STRENGTH.noCharacteristic(support.rate) };
  const rows = currentResults(facts).filter((row) => row.characteristic === item.characteristic);
  if (rows.length === 0) return { why: NO_STRENGTH.notMeasured(item.title) };
  if (rows.some((row) => readReported(row.value).qualifier !== '')) {
    return { why: NO_STRENGTH.onlyABound };
  }
  if (!isRate(item.ucum)) return { why: NO_STRENGTH.noRate(item.ucum) };
  const rates = rows.map((row) => Number(convert(row.value, item.ucum, 'mm/a')));
  if (rates.some((rate) => rate < 0)) return { why: NO_STRENGTH.belowZero };
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
    STRENGTH_ASSUMPTIONS.rate,
    factor === undefined ? STRENGTH_ASSUMPTIONS.uniform : STRENGTH_ASSUMPTIONS.localised(factor),
    support.shape === 'plate' ? STRENGTH_ASSUMPTIONS.plate : STRENGTH_ASSUMPTIONS.round,
    STRENGTH_ASSUMPTIONS.strong,
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
      label: STRENGTH_LEFT.curve(one.rate, Number(one.mmPerYear.toPrecision(3))),
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
        title: STRENGTH_LEFT.title(support.shape, support.sizeMm, item.title),
        curves,
        window: { weeks: support.weeks, strengthLeft: limit },
        notes: [],
      },
      textMetric,
    ),
    alt: STRENGTH_LEFT.alt(
      weeks,
      support.weeks,
      percentText(holdings[2]!.strengthLeft),
      percentText(holdings[0]!.strengthLeft),
      percentText(limit),
    ),
    caption: STRENGTH_LEFT.caption,
  };
}

export const percentText = (fraction: number): string => STRENGTH_LEFT.percent(Number((100 * fraction).toPrecision(3)));

/** The conditions under which a characteristic was tested. */
export function conditionsOf(facts: Facts, { method }: Characteristic): string {
  return facts.methods.get(revisionKey(method.method, method.revision))?.body.conditions ?? STRENGTH_LEFT.noConditions;
}
