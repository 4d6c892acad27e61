import type { Facts } from '../dossier/facts.js';

/**
 * Receipts of the material that went into a build, through every blend and top-up, each once and sorted.
 * Assumes that powder states form a directed acyclic graph; a state seen twice is not followed again.
 */
export function powderReceiptsOfBuild(facts: Facts, build: string): string[] {
  const receipts = new Set<string>();
  const seen = new Set<string>();
  const follow = (state: string): void => {
    if (seen.has(state)) return;
    seen.add(state);
    for (const input of facts.powderStates.get(state)?.body.inputs ?? []) {
      if ('receipt' in input) receipts.add(input.receipt);
      else follow(input.state);
    }
  };
  const found = facts.lot.body.builds.find((item) => item.build === build);
  for (const powder of found?.powder ?? []) follow(powder.state);
  return [...receipts].sort();
}

/** Receipts of the gas of a build, sorted. */
export function gasReceiptsOfBuild(facts: Facts, build: string): string[] {
  const found = facts.lot.body.builds.find((item) => item.build === build);
  return [...new Set((found?.gas ?? []).map((gas) => gas.receipt))].sort();
}
