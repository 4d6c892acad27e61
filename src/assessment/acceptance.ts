import type { Facts } from '../dossier/facts.js';
import { type Reported, readReported } from '../dossier/reported-value.js';
import type { Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { guardBand } from '../statistics/decision-rules.js';
import { type CharacteristicVerdict, type ValueVerdict, type Verdict, worstVerdict } from './assessment.js';
import { asCompared, compareWithLimits, limitsText } from './limits.js';
import { currentResults, type NumberedResult, specimensFor } from './specimens.js';

/** Limits moved inwards (accept) and outwards (refuse) by the guard band. */
interface GuardedLimits {
  readonly acceptFrom: string | undefined;
  readonly acceptTo: string | undefined;
  readonly refuseBelow: string | undefined;
  readonly refuseAbove: string | undefined;
}

/** Twelve digits are what a sum of a reported value and a guard band can carry without noise. */
const shift = (limit: string | undefined, by: number): string | undefined =>
  limit === undefined ? undefined : String(Number((Number(limit) + by).toPrecision(12)));

/** Guard band g = z·u, one-sided at the given confidence (ISO 14253-1, JCGM 106; constants from memory). */
function guarded(item: Characteristic, confidence: number, standardUncertainty: number): GuardedLimits {
  const guard = guardBand(standardUncertainty, confidence);
  return {
    acceptFrom: shift(item.lower, guard),
    acceptTo: shift(item.upper, -guard),
    refuseBelow: shift(item.lower, -guard),
    refuseAbove: shift(item.upper, guard),
  };
}

/** Verdict of one value by the decision rule of its characteristic, with the reason in words. */
export function judgeValue(
  item: Characteristic,
  value: string,
  standardUncertainty: string,
): { verdict: Verdict; why: string; compared: string } {
  const reported = readReported(value);
  const limits = `${limitsText(item)} ${item.ucum}`;
  const compared = comparedText(item, reported);
  if (item.decision.rule === 'simple') {
    const verdict = compareWithLimits(reported, item, item.rounding);
    return { verdict, compared, why: reasonSimple(verdict, reported, limits) };
  }
  if (standardUncertainty === '') {
    return {
      verdict: 'cannot be decided',
      compared,
      why: 'the decision rule is guarded and the measurement uncertainty is missing',
    };
  }
  const confidence = Number(item.decision.confidence);
  const zone = guarded(item, confidence, Number(standardUncertainty));
  const outside = compareWithLimits(reported, { lower: zone.refuseBelow, upper: zone.refuseAbove }, item.rounding);
  const inside = compareWithLimits(reported, { lower: zone.acceptFrom, upper: zone.acceptTo }, item.rounding);
  if (inside === 'conforms') {
    return { verdict: 'conforms', compared, why: `keeps ${limits} by more than the guard band` };
  }
  if (outside === 'does not conform') {
    return { verdict: 'does not conform', compared, why: `misses ${limits} by more than the guard band` };
  }
  return { verdict: 'cannot be decided', compared, why: `within the guard band around ${limits}` };
}

function comparedText(item: Characteristic, reported: Reported): string {
  const limit = item.lower ?? item.upper!;
  return `${reported.qualifier}${asCompared(reported.number, limit, item.rounding)}`;
}

function reasonSimple(verdict: Verdict, reported: Reported, limits: string): string {
  if (verdict === 'conforms') return `keeps ${limits}`;
  if (verdict === 'does not conform') return `misses ${limits}`;
  return `reported only as ${reported.qualifier}${reported.number}: whether it keeps ${limits} is open`;
}

/** Acceptance of one implant in one characteristic: each planned replicate of each specimen must conform. */
export function acceptUnit(
  facts: Facts,
  implant: Implant,
  item: Characteristic,
  results: readonly NumberedResult[] = currentResults(facts),
): CharacteristicVerdict {
  const values = specimensFor(facts, implant, item).flatMap((specimen) => {
    const found = results.filter(
      (result) => result.specimen === specimen && result.characteristic === item.characteristic,
    );
    return [...found.map((result) => judged(item, result)), ...missing(item, specimen, found)];
  });
  const confidence = item.decision.rule === 'guarded' ? Number(item.decision.confidence) : undefined;
  const uncertainties = new Set(
    results.filter((r) => r.characteristic === item.characteristic).map((r) => r.standardUncertainty),
  );
  const [only] = [...uncertainties];
  const zone =
    confidence !== undefined && uncertainties.size === 1 && only ? guarded(item, confidence, Number(only)) : undefined;
  return {
    characteristic: item.characteristic,
    unit: implant.serial,
    verdict: worstVerdict(values.map((value) => value.verdict)),
    values,
    acceptFrom: (zone ? zone.acceptFrom : item.lower) ?? null,
    acceptTo: (zone ? zone.acceptTo : item.upper) ?? null,
  };
}

function judged(item: Characteristic, result: NumberedResult): ValueVerdict {
  return {
    row: result.row,
    specimen: result.specimen,
    piece: result.piece,
    replicate: Number(result.replicate),
    value: result.value,
    ...(byPlannedMethod(item, result)
      ? judgeValue(item, result.value, result.standardUncertainty)
      : {
          verdict: 'cannot be decided' as const,
          compared: result.value,
          why: `measured by ${result.method} revision ${result.methodRevision}, planned ${item.method.method} revision ${item.method.revision}`,
        }),
  };
}

/** A value speaks for a characteristic only when it was measured as the specification says. */
const byPlannedMethod = (item: Characteristic, result: NumberedResult): boolean =>
  result.method === item.method.method && Number(result.methodRevision) === item.method.revision;

function missing(item: Characteristic, specimen: string, found: readonly NumberedResult[]): ValueVerdict[] {
  const count = Math.max(0, item.replicates - found.length);
  return Array.from({ length: count }, (_, index) => ({
    row: null,
    specimen,
    piece: '',
    replicate: found.length + index + 1,
    value: '',
    compared: '',
    verdict: 'cannot be decided' as const,
    why: 'the value is missing',
  }));
}
