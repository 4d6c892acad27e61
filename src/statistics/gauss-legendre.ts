/** Nodes and weights of a quadrature rule on [-1, 1]. */
export interface Rule {
  readonly nodes: Float64Array;
  readonly weights: Float64Array;
}

const rules = new Map<number, Rule>();

/**
 * The Gauss–Legendre rule with `order` nodes on [-1, 1]. Each order is computed once and kept.
 * Source: Press et al., Numerical Recipes, section 4.6 (from memory): Newton's method on the Legendre polynomial.
 */
export function gaussLegendre(order: number): Rule {
  const known = rules.get(order);
  if (known) return known;
  const nodes = new Float64Array(order);
  const weights = new Float64Array(order);
  for (let i = 0; i < Math.ceil(order / 2); i++) {
    const { root, derivative } = legendreRoot(order, Math.cos((Math.PI * (i + 0.75)) / (order + 0.5)));
    const weight = 2 / ((1 - root * root) * derivative * derivative);
    nodes[i] = -root;
    nodes[order - 1 - i] = root;
    weights[i] = weight;
    weights[order - 1 - i] = weight;
  }
  const rule = { nodes, weights };
  rules.set(order, rule);
  return rule;
}

/** Integral of `f` from `from` to `to` by the Gauss–Legendre rule with `order` nodes. */
export function integrate(f: (x: number) => number, from: number, to: number, order: number): number {
  const { nodes, weights } = gaussLegendre(order);
  const centre = (from + to) / 2;
  const half = (to - from) / 2;
  let sum = 0;
  for (let i = 0; i < order; i++) sum += weights[i]! * f(centre + half * nodes[i]!);
  return half * sum;
}

function legendreRoot(order: number, start: number): { root: number; derivative: number } {
  let root = start;
  for (let step = 0; step < 20; step++) {
    const { value, derivative } = legendre(order, root);
    const change = value / derivative;
    root -= change;
    if (Math.abs(change) < 1e-15) break;
  }
  return { root, derivative: legendre(order, root).derivative };
}

function legendre(order: number, x: number): { value: number; derivative: number } {
  let previous = 1;
  let value = x;
  for (let k = 2; k <= order; k++) {
    const next = ((2 * k - 1) * x * value - (k - 1) * previous) / k;
    previous = value;
    value = next;
  }
  return { value, derivative: (order * (x * value - previous)) / (x * x - 1) };
}
