import type { Facts } from '../dossier/facts.js';

/** Receipts of the material that went into a build, through every blend and top-up, each once and sorted. */
export function powderReceiptsOfBuild(facts: Facts, build: string): string[] {
  const receipts = new Set<string>();
  const found = facts.lot.body.builds.find((item) => item.build === build);
  // A set is walked also over what is added on the way, and each state once.
  const states = new Set((found?.powder ?? []).map(({ state }) => state));
  for (const state of states) {
    for (const input of facts.powderStates.get(state)?.body.inputs ?? []) {
      'receipt' in input ? receipts.add(input.receipt) : states.add(input.state);
    }
  }
  return [...receipts].sort();
}

/** Receipts of the gas of a build, sorted. */
export function gasReceiptsOfBuild(facts: Facts, build: string): string[] {
  const found = facts.lot.body.builds.find((item) => item.build === build);
  return [...new Set((found?.gas ?? []).map((gas) => gas.receipt))].sort();
}
