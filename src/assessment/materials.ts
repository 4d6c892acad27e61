import type { Facts } from '../dossier/facts.js';
import { inputsFirst } from './powder-order.js';

/** Receipts of the material that went into a build, through every blend and top-up, each once and sorted. */
export function powderReceiptsOfBuild(facts: Facts, build: string): string[] {
  const found = facts.lot.body.builds.find((item) => item.build === build);
  return receiptsOfStates(
    facts,
    (found?.powder ?? []).map(({ state }) => state),
  );
}

/**
 * Receipts in powder states, through every blend and top-up, each once and sorted.
 * @throws TypeError for a state that is not there: a lot file has all that its builds name, and nobody could say of one that
 * lacks what its metal was.
 */
export function receiptsOfStates(facts: Pick<Facts, 'powderStates'>, codes: readonly string[]): string[] {
  const receipts = new Set<string>();
  // A set is walked also over what is added on the way, and each state once.
  const states = new Set(codes);
  for (const state of states) {
    for (const input of facts.powderStates.get(state)!.body.inputs ?? []) {
      'receipt' in input ? receipts.add(input.receipt) : states.add(input.state);
    }
  }
  return [...receipts].sort();
}

/** Receipts of the gas of a build, sorted. */
function gasReceiptsOfBuild(facts: Facts, build: string): string[] {
  const found = facts.lot.body.builds.find((item) => item.build === build);
  return [...new Set((found?.gas ?? []).map((gas) => gas.receipt))].sort();
}

/** Receipts of the stock on which parts were built there, sorted. */
function stockReceiptsOfBuild({ lot, stockParts }: Facts, build: string): string[] {
  const parts = [...lot.body.implants, ...lot.body.coupons].filter((part) => part.build === build);
  const receipts = parts.flatMap(({ builtOn }) => stockParts.get(builtOn ?? '')?.body.receipt ?? []);
  return [...new Set(receipts)].sort();
}

/** Receipts of everything that went into a build, each once: of its powder, then of its gas, and of stock that was built on. */
export const receiptsOfBuild = (facts: Facts, build: string): string[] => [
  ...new Set([
    ...powderReceiptsOfBuild(facts, build),
    ...gasReceiptsOfBuild(facts, build),
    ...stockReceiptsOfBuild(facts, build),
  ]),
];

type Powder = Pick<Facts, 'powderStates' | 'receipts'>;

/**
 * How often the most used part of each powder state has been through a machine: the most recoveries on any way back to
 * what was received. Powder that was bought used counts as one. Each state is worked out once, and one that contains
 * itself adds nothing to itself.
 */
export function reuseCycles({ powderStates, receipts }: Powder): ReadonlyMap<string, number> {
  const cycles = new Map<string, number>();
  for (const code of inputsFirst(powderStates)) {
    const { inputs = [], operation } = powderStates.get(code)?.body ?? {};
    const used = inputs.map((input) => {
      if ('state' in input) return cycles.get(input.state) ?? 0;
      return receipts.get(input.receipt)?.body.state === 'used' ? 1 : 0;
    });
    cycles.set(code, Math.max(0, ...used) + (operation === 'recover' ? 1 : 0));
  }
  return cycles;
}
