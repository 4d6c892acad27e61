import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { Characteristic } from '../kinds/specification.js';
import { inLimitUnit } from './material-lines.js';
import { powderSharesOfBuild } from './powder-shares.js';
import { currentResults } from './specimens.js';

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
      const certified = certifiedOf(facts, build, property, item);
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

function certifiedOf(
  facts: Facts,
  build: string,
  property: string,
  { ucum }: Pick<Characteristic, 'ucum'>,
): Known | undefined {
  const parts: (readonly [number, Known])[] = [];
  for (const { receipt, fraction } of powderSharesOfBuild(facts, build)) {
    const lines = facts.receipts.get(receipt)?.body.certificate?.lines;
    const line = lines?.find((one) => one.property === property);
    const value = line && inLimitUnit(line, { ucum });
    if (line === undefined || value === undefined) return undefined;
    const spread = line.uncertainty && inLimitUnit({ value: line.uncertainty, ucum: line.ucum }, { ucum })?.number;
    parts.push([fraction, knownOf(value, spread)]);
  }
  return parts.length === 0 ? undefined : weighted(parts);
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
