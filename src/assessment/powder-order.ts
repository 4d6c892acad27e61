import type { Facts } from '../dossier/facts.js';

/** Codes of all powder states, each once and after the states that it was made of; on a loop somewhere, as nothing is first there. */
export function* inputsFirst(powderStates: Facts['powderStates']): Generator<string> {
  const begun = new Set<string>();
  const done = new Set<string>();
  // A list of what is left to do, and no recursion: thousands of states may lie behind each other.
  const left = [...powderStates.keys()];
  for (let code = left.at(-1); code !== undefined; code = left.at(-1)) {
    const inputs = powderStates.get(code)?.body.inputs ?? [];
    const before = inputs.flatMap((input) => ('state' in input && !begun.has(input.state) ? [input.state] : []));
    const isFirst = !begun.has(code);
    begun.add(code);
    if (isFirst && before.length > 0) {
      left.push(...before);
      continue;
    }
    left.pop();
    if (done.has(code)) continue;
    done.add(code);
    yield code;
  }
}
