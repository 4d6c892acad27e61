import type { Assessment } from '../assessment/assessment.js';
import { appliedLimits, strictestOf } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import { perUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import { type ValueStrip, valueStrips } from './charts/value-strips.js';
import type { LotFigure } from './lot-figure.js';
import { verdictText } from './phrases/codes.js';
import { appliedLimitsText } from './phrases/limits.js';
import { UNIT_PAGE } from './phrases/unit-page.js';

type CharacteristicVerdict = Assessment['characteristics'][number];

/** The values that speak for one implant, each characteristic between its limits; undefined where none is planned. */
export function unitFigure(facts: Facts, assessment: Assessment, unit: string): LotFigure | undefined {
  const own = assessment.characteristics.filter((verdict) => verdict.unit === unit);
  const notes: string[] = [UNIT_PAGE.figureKey];
  const strips = facts.specification.body.characteristics.flatMap((item) => {
    const verdict = own.find(({ characteristic }) => characteristic === item.characteristic);
    if (!verdict) return [];
    const sets = appliedLimits(facts, item, ({ standsFor }) => standsFor.includes(unit));
    if (sets.some(({ study }) => study !== undefined)) {
      notes.push(UNIT_PAGE.limitsMoved(item.title, appliedLimitsText(item, sets)));
    }
    return [stripOf({ ...item, ...strictestOf(item, sets) }, verdict)];
  });
  if (strips.length === 0) return undefined;
  const values = strips.reduce((sum, strip) => sum + strip.values.length, 0);
  const outside = strips.reduce((sum, strip) => sum + strip.values.filter(({ standsOut }) => standsOut).length, 0);
  return {
    scene: valueStrips(strips, notes, textMetric),
    alt: UNIT_PAGE.figureAlt(unit, strips.length, values, outside),
    caption: UNIT_PAGE.figureCaption,
  };
}

const numberOf = (text: string | null | undefined): number | undefined =>
  text === null || text === undefined ? undefined : Number(text);

function stripOf(item: Characteristic, verdict: CharacteristicVerdict): ValueStrip {
  const limits = { lower: numberOf(item.lower), upper: numberOf(item.upper) };
  const guarded =
    item.decision.rule === 'guarded'
      ? { acceptFrom: numberOf(verdict.acceptFrom), acceptTo: numberOf(verdict.acceptTo) }
      : {};
  const known = Object.entries({ ...limits, ...guarded }).filter(([, value]) => value !== undefined);
  return {
    ...Object.fromEntries(known),
    label: `${item.title}${perUnit(item.ucum)}`,
    values: verdict.values
      .filter(({ row }) => row !== null)
      .map(({ value, verdict: says }) => ({
        value: Number(readReported(value).number),
        standsOut: says !== 'conforms',
      })),
    says: verdictText(verdict.verdict),
    standsOut: verdict.verdict !== 'conforms',
  };
}
