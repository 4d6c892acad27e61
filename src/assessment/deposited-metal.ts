import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { Build } from '../kinds/lot.js';
import type { DepositedChange } from '../kinds/process-validation.js';
import type { Characteristic, DepositedLimit } from '../kinds/specification.js';
import { inUnit } from './in-unit.js';
import { inLimitUnit } from './material-lines.js';
import { powderSharesOfBuild } from './powder-shares.js';
import type { ValidationFault } from './reasons.js';
import { recipeUses } from './recipe-uses.js';
import { currentResults } from './specimens.js';
import { type Validation, validationFault, validationNamed } from './validations.js';

/** A number that may only be known to lie between two ends, with its standard uncertainty where each part has one. */
export interface Known {
  readonly low: number;
  readonly high: number;
  readonly uncertainty: number | undefined;
}

/** What of one property went in with the powder of a closure and what was found in the deposited metal. */
export interface DepositedMetal {
  readonly characteristic: Characteristic;
  readonly property: string;
  readonly build: string;
  readonly specimens: readonly string[];
  readonly values: number;
  /** Mean of the certificates by the mass that went in; undefined where one of them does not state it. */
  readonly certified: Known | undefined;
  readonly deposited: Known;
  /** Deposited less certified: burn-off below nothing, pick-up above it. */
  readonly change: Known | undefined;
}

/** Everything in the unit of the characteristic. A value below a detection limit lies between nothing and that limit. */
export function depositedMetal(facts: Facts): DepositedMetal[] {
  const results = currentResults(facts);
  const buildOf = new Map(facts.lot.body.coupons.map(({ coupon, build }) => [coupon, build]));
  return facts.specification.body.characteristics.flatMap((item) => {
    if (item.deposited === undefined) return [];
    const property = item.deposited;
    const own = results.filter(({ characteristic }) => characteristic === item.characteristic);
    return facts.lot.body.builds.flatMap(({ build }) => {
      const rows = own.filter(({ specimen }) => buildOf.get(specimen) === build);
      if (rows.length === 0) return [];
      const share = 1 / rows.length;
      const deposited = weighted(
        rows.map(({ value, standardUncertainty }) => [share, knownOf(readReported(value), standardUncertainty)]),
      );
      const certifiedBy = certifiedParts(facts, build, property, item);
      const certified = certifiedBy && weighted(certifiedBy);
      return [
        {
          ...{ characteristic: item, property, build, values: rows.length, certified, deposited },
          specimens: [...new Set(rows.map(({ specimen }) => specimen))],
          change: certified && difference(deposited, certified),
        },
      ];
    });
  });
}

/** What one property of the deposited metal is by the validation on which a build rests, where no coupon was analysed. */
export interface MetalByInterval {
  readonly limit: DepositedLimit;
  readonly build: Build;
  readonly validation: Validation;
  readonly shown: DepositedChange;
  /** Whole days from the analysis to the closing of the chamber. */
  readonly ageDays: number;
  readonly certified: Known;
  readonly change: Known;
  /** Certified and what changes on the way. */
  readonly deposited: Known;
}

export type IntervalGap =
  | { readonly code: 'validation does not hold'; readonly fault: ValidationFault }
  | {
      readonly code: 'does not cover the build' | 'change not shown' | 'units do not compare';
      readonly validation: Validation;
    }
  | {
      readonly code: 'interval over';
      readonly validation: Validation;
      readonly shown: DepositedChange;
      readonly ageDays: number;
    }
  | { readonly code: 'powder not certified'; readonly validation: Validation };

/** For each limit and each closure in which metal is deposited: what the validation answers, or why it answers nothing. */
export function metalByInterval(
  facts: Facts,
): { readonly limit: DepositedLimit; readonly build: Build; readonly found: MetalByInterval | IntervalGap }[] {
  const uses = recipeUses(facts).filter(({ does }) => does('deposit'));
  const builds = [...new Set(uses.map(({ build }) => build))];
  return (facts.specification.body.depositedMetal ?? []).flatMap((limit) =>
    builds.map((build) => {
      const groups = uses.filter((use) => use.build === build).map(({ recipe }) => recipe.body.group);
      return { limit, build, found: byInterval(facts, limit, build, groups) };
    }),
  );
}

function byInterval(
  facts: Facts,
  limit: DepositedLimit,
  build: Build,
  groups: readonly string[],
): MetalByInterval | IntervalGap {
  const fault = validationFault(facts, limit.validation, build.closedAt);
  const validation = validationNamed(facts, limit.validation);
  if (fault || !validation) return { code: 'validation does not hold', fault: fault! };
  const { machine, recipeGroups, depositedMetal = [] } = validation.body;
  const isCovered = machine === build.machine && groups.every((group) => recipeGroups.includes(group));
  if (!isCovered) return { code: 'does not cover the build', validation };
  const shown = depositedMetal.find(({ property }) => property === limit.property);
  if (!shown) return { code: 'change not shown', validation };
  const ageDays = Math.floor((Date.parse(build.closedAt) - Date.parse(shown.analysedAt)) / DAY_MS);
  if (ageDays < 0 || ageDays > shown.holdsDays) return { code: 'interval over', validation, shown, ageDays };
  const moved = inUnit({ value: shown.change, ucum: shown.ucum }, limit.ucum);
  const spread = inUnit({ value: shown.standardUncertainty, ucum: shown.ucum }, limit.ucum);
  if (moved === undefined || spread === undefined) return { code: 'units do not compare', validation };
  const parts = certifiedParts(facts, build.build, limit.property, limit);
  if (!parts) return { code: 'powder not certified', validation };
  const change = { low: Number(moved), high: Number(moved), uncertainty: Number(spread) };
  // A certificate that states no uncertainty counts with none.
  const known = parts.map(([share, part]) => [share, { ...part, uncertainty: part.uncertainty ?? 0 }] as const);
  const deposited = weighted([...known, [1, change]]);
  return { limit, build, validation, shown, ageDays, certified: weighted(parts), change, deposited };
}

const DAY_MS = 86_400_000;

/** Undefined where a certificate does not state it, or not all of the powder goes back to receipts. */
function certifiedParts(
  facts: Facts,
  build: string,
  property: string,
  { ucum }: Pick<Characteristic, 'ucum'>,
): (readonly [share: number, part: Known])[] | undefined {
  const parts: (readonly [number, Known])[] = [];
  const shares = powderSharesOfBuild(facts, build);
  if (rounded(shares.reduce((sum, { fraction }) => sum + fraction, 0)) !== 1) return undefined;
  for (const { receipt, fraction } of shares) {
    const lines = facts.receipts.get(receipt)?.body.certificate?.lines;
    const line = lines?.find((one) => one.property === property);
    const value = line && inLimitUnit(line, { ucum });
    if (line === undefined || value === undefined) return undefined;
    const spread = line.uncertainty && inLimitUnit({ value: line.uncertainty, ucum: line.ucum }, { ucum })?.number;
    parts.push([fraction, knownOf(value, spread)]);
  }
  return parts;
}

function knownOf({ number, qualifier }: { number: string; qualifier: string }, uncertainty = ''): Known {
  const value = Number(number);
  const spread = uncertainty === '' ? undefined : Number(uncertainty);
  if (/[<≤]/.test(qualifier)) return { low: 0, high: value, uncertainty: undefined };
  if (/[>≥]/.test(qualifier)) return { low: value, high: Number.POSITIVE_INFINITY, uncertainty: undefined };
  return { low: value, high: value, uncertainty: spread };
}

/** Sum of weighted parts that are independent of each other. */
function weighted(parts: readonly (readonly [weight: number, part: Known])[]): Known {
  const sum = (of: (part: Known) => number) => parts.reduce((all, [weight, part]) => all + weight * of(part), 0);
  const isKnown = parts.every(([, { uncertainty }]) => uncertainty !== undefined);
  const squares = parts.reduce((all, [weight, { uncertainty = 0 }]) => all + (weight * uncertainty) ** 2, 0);
  return {
    low: rounded(sum(({ low }) => low)),
    high: rounded(sum(({ high }) => high)),
    uncertainty: isKnown ? rounded(Math.sqrt(squares)) : undefined,
  };
}

function difference(a: Known, b: Known): Known {
  const isKnown = a.uncertainty !== undefined && b.uncertainty !== undefined;
  return {
    low: rounded(a.low - b.high),
    high: rounded(a.high - b.low),
    uncertainty: isKnown ? rounded(Math.sqrt(a.uncertainty ** 2 + b.uncertainty ** 2)) : undefined,
  };
}

const DIGITS = 9;
/** So that sums of decimals end where they should. */
const rounded = (value: number): number => Number(value.toPrecision(DIGITS));
