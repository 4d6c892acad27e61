import { convert } from '../../base/units.js';
import { readReported } from '../../dossier/reported-value.js';
import type { Receipt } from '../../kinds/receipt.js';
import { moments } from '../../statistics/summary.js';
import { trendTest } from '../../statistics/trend-test.js';
import { stored } from '../performance.js';

/** A certified value of one delivery. */
export interface CertifiedPoint {
  readonly receipt: string;
  readonly receivedAt: string;
  readonly heat: string;
  /** As the certificate states it. */
  readonly stated: string;
  readonly statedUcum: string;
  /** In the unit of the trend; of a bound the bound itself. */
  readonly value: number;
  readonly isBound: boolean;
}

export interface SupplierTrend {
  readonly supplier: string;
  readonly points: readonly CertifiedPoint[];
  readonly mean: number | null;
  readonly sd: number | null;
  /** Rank test of Mann and Kendall over deliveries in their order, bounds left out; null of too few. */
  readonly drift: { readonly p: number; readonly perDelivery: number; readonly isSeen: boolean } | null;
}

export interface CertificateTrend {
  readonly ucum: string;
  /** In the order of their names. */
  readonly suppliers: readonly SupplierTrend[];
  /** Deliveries whose unit does not measure the same: in no number. */
  readonly otherUnits: readonly string[];
  /** Suppliers that were tried for a drift: each at its share of the level. */
  readonly compared: number;
}

/** Fewer deliveries show no drift by ranks at the level. */
export const LEAST_DELIVERIES = 6;
const LEVEL = 0.05;

/**
 * What certificates of a material say of one property, delivery by delivery and supplier by supplier, so that a drift of a
 * supplier shows before the implants do.
 * @param receipts of one material, in any order.
 */
export function certificateTrend(receipts: readonly Receipt[], property: string): CertificateTrend | undefined {
  const told = receipts
    .toSorted((a, b) => Date.parse(a.receivedAt) - Date.parse(b.receivedAt) || (a.receipt < b.receipt ? -1 : 1))
    .flatMap((receipt) => {
      const line = receipt.certificate?.lines.find((one) => one.property === property);
      return line === undefined ? [] : [{ receipt, line }];
    });
  const ucum = told.at(-1)?.line.ucum;
  if (ucum === undefined) return undefined;
  const bySupplier = new Map<string, CertifiedPoint[]>();
  const otherUnits: string[] = [];
  for (const { receipt, line } of told) {
    const { qualifier, number } = readReported(line.value.replaceAll(' ', ''));
    const value = inUnit(number, line.ucum, ucum);
    if (value === undefined) otherUnits.push(receipt.receipt);
    else {
      const point = {
        ...{ receipt: receipt.receipt, receivedAt: receipt.receivedAt, stated: line.value, statedUcum: line.ucum },
        ...{ heat: receipt.heats.join(', ') || receipt.supplierLot, value, isBound: qualifier !== '' },
      };
      bySupplier.set(receipt.supplier, [...(bySupplier.get(receipt.supplier) ?? []), point]);
    }
  }
  const measured = (points: readonly CertifiedPoint[]) => points.filter(({ isBound }) => !isBound);
  const compared = [...bySupplier.values()].filter((points) => measured(points).length >= LEAST_DELIVERIES).length;
  return {
    ...{ ucum, otherUnits, compared },
    suppliers: [...bySupplier]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([supplier, points]) => {
        const values = measured(points).map(({ value }) => value);
        const known = values.length === 0 ? undefined : moments(values);
        return {
          ...{ supplier, points },
          mean: known === undefined ? null : stored(known.mean),
          sd: known === undefined || values.length < 2 ? null : stored(known.sd),
          drift: driftOf(values, compared),
        };
      }),
  };
}

function driftOf(values: readonly number[], compared: number): SupplierTrend['drift'] {
  if (values.length < LEAST_DELIVERIES || new Set(values).size === 1) return null;
  const { p, slope } = trendTest(values);
  return { p: stored(p), perDelivery: stored(slope), isSeen: p * compared < LEVEL };
}

/** Undefined where the two units do not measure the same. */
function inUnit(value: string, from: string, to: string): number | undefined {
  try {
    return Number(convert(value, from, to));
  } catch {
    return undefined;
  }
}
