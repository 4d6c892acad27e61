/**
 * Mean number of steps until a chain leaves its transient states, from each state: the solution of
 * L = 1 + Q L. `moves[i][j]` is the probability (or quadrature mass) of going from i to j, `leaving[i]` that of leaving;
 * the chance of staying in i is what is left of 1, so it is never subtracted: even mean times of 1e12 keep their digits.
 * Both arguments are overwritten.
 * Source: Grassmann, Taksar and Heyman, Operations Research 33 (1985) (elimination without subtraction).
 */
export function stepsUntilLeaving(moves: Float64Array[], leaving: Float64Array): Float64Array {
  const size = moves.length;
  const steps = new Float64Array(size).fill(1);
  const outflow = new Float64Array(size);
  for (let last = size - 1; last >= 0; last--) {
    const row = moves[last]!;
    // The chance of leaving state `last` for one that is still there, or for good.
    let out = leaving[last]!;
    for (let j = 0; j < last; j++) out += row[j]!;
    outflow[last] = out;
    for (let i = 0; i < last; i++) spread(moves[i]!, row, last, out);
    for (let i = 0; i < last; i++) {
      const share = moves[i]![last]! / out;
      leaving[i]! += share * leaving[last]!;
      steps[i]! += share * steps[last]!;
    }
  }
  const result = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    let sum = steps[i]!;
    for (let j = 0; j < i; j++) sum += moves[i]![j]! * result[j]!;
    result[i] = sum / outflow[i]!;
  }
  return result;
}

/** Redirects what would go through the eliminated state to where that state goes next. */
function spread(target: Float64Array, through: Float64Array, eliminated: number, out: number): void {
  const share = target[eliminated]! / out;
  if (share === 0) return;
  for (let j = 0; j < eliminated; j++) target[j]! += share * through[j]!;
}
