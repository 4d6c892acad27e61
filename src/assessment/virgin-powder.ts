import type { Facts } from '../dossier/facts.js';
import { inputsFirst } from './powder-order.js';

type Powder = Pick<Facts, 'powderStates' | 'receipts'>;

/**
 * Mass fraction of each powder state that never went through a machine, from 0 to 1. What was recovered counts as used, and
 * so does powder that was bought used. Each state is worked out once; one on a loop has none, nor has what it went into.
 */
export function virginFractions({ powderStates, receipts }: Powder): ReadonlyMap<string, number> {
  const fractions = new Map<string, number>();
  for (const code of inputsFirst(powderStates)) {
    const { inputs = [], operation } = powderStates.get(code)?.body ?? {};
    if (inputs.length === 0) continue;
    const parts = inputs.map((input) => ({
      massG: Number(input.massG),
      virgin:
        'state' in input ? fractions.get(input.state) : receipts.get(input.receipt)?.body.state === 'used' ? 0 : 1,
    }));
    if (parts.some(({ virgin }) => virgin === undefined)) continue;
    const total = parts.reduce((sum, { massG }) => sum + massG, 0);
    const virgin = parts.reduce((sum, part) => sum + part.massG * part.virgin!, 0) / total;
    fractions.set(code, operation === 'recover' ? 0 : virgin);
  }
  return fractions;
}
