import type { Facts } from '../dossier/facts.js';
import { orderedTo } from './material-lines.js';
import { receiptsOfStates } from './materials.js';

/** The least that the material specifications of a powder state allow, over all receipts in it; undefined where none says. */
export function strictestOf(facts: Facts, state: string, limit: 'reuseLimit' | 'balancePercent'): string | undefined {
  const limits = receiptsOfStates(facts, [state]).flatMap((code) => {
    return orderedTo(facts, facts.receipts.get(code)!.body)?.body[limit] ?? [];
  });
  return limits.map(String).sort((a, b) => Number(a) - Number(b))[0];
}
