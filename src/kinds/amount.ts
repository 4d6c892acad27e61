import { decimalText, parseDecimal } from '../base/decimal.js';
import type { Quantity } from './fields.js';

/** Powers of ten from each unit of mass to grams. */
const TO_GRAMS: Readonly<Record<string, number>> = { ug: -6, mg: -3, g: 0, kg: 3, t: 6 };

/** Grams of an amount that is a mass, as exact decimal text; undefined for every other unit. */
export function gramsOf({ value, ucum }: Quantity): string | undefined {
  const power = TO_GRAMS[ucum];
  if (power === undefined) return undefined;
  const { coefficient, scale } = parseDecimal(value);
  const left = scale - power;
  return decimalText(
    left >= 0 ? { coefficient, scale: left } : { coefficient: coefficient * 10n ** BigInt(-left), scale: 0 },
  );
}

/** What a tie carries of an amount: its mass, or how many pieces it is. */
export function amountOf(quantity: Quantity | undefined): { massG?: string; count?: number } {
  if (quantity === undefined) return {};
  const massG = gramsOf(quantity);
  if (massG !== undefined) return { massG };
  const pieces = Number(quantity.value);
  return quantity.ucum === '1' && Number.isInteger(pieces) ? { count: pieces } : {};
}
