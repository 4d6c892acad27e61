import { CalculationError } from '../base/errors.js';
import { stepsUntilLeaving } from './absorption.js';
import { normalCdf, normalDensity, normalUpper } from './distributions.js';
import { gaussLegendre } from './gauss-legendre.js';

/*
 * Average run length: how many independent normal points a chart shows on average before the first signal, from its
 * starting state ("zero state"). `shift` is how far the mean is off the centre or target, in sigma.
 */

/** Chart with limits at ± width sigma: 1 / (P(below) + P(above)). Source: NIST/SEMATECH e-Handbook 6.3.2.3. */
export function shewhartRunLength(width: number, shift: number): number {
  return 1 / (normalUpper(width - shift) + normalUpper(width + shift));
}

/**
 * EWMA chart with steady limits, started at the target: the integral equation
 * L(u) = 1 + ∫ L(v) φ((v − (1 − lambda) u)/lambda − shift) dv / lambda over the limits, solved on Gauss–Legendre nodes.
 * 0 < lambda ≤ 1, width > 0. Relative error below 1e-6 (1e-9 in common designs).
 * Source: Crowder, Technometrics 29 (1987).
 */
export function ewmaRunLength(lambda: number, width: number, shift: number): number {
  if (lambda === 1) return shewhartRunLength(width, shift);
  const limit = width * Math.sqrt(lambda / (2 - lambda));
  const { nodes, weights } = scaled(-limit, limit, nodeCount((2 * limit) / lambda, 'lambda'));
  // The start, the target itself, is one more state; nothing ever returns exactly to it.
  const states = [0, ...nodes];
  const moves = states.map((u) =>
    Float64Array.of(
      0,
      ...nodes.map((v, j) => (weights[j]! / lambda) * normalDensity((v - (1 - lambda) * u) / lambda - shift)),
    ),
  );
  const leaving = Float64Array.from(states, (u) => {
    const centre = (1 - lambda) * u;
    return normalUpper((limit - centre) / lambda - shift) + normalCdf((-limit - centre) / lambda - shift);
  });
  return stepsUntilLeaving(moves, leaving)[0]!;
}

/**
 * CUSUM chart started at 0, k and h in sigma. One side, upwards: Page's integral equation
 * L(u) = 1 + L(0) Φ(k − u − shift) + ∫ L(v) φ(v − u + k − shift) dv from 0 to h, on Gauss–Legendre nodes;
 * two sides: 1/L = 1/L(up) + 1/L(down).
 * Source: Page, Biometrika 41 (1954); Lucas and Crosier, Technometrics 24 (1982); Kemp (1961) for two sides.
 */
export function cusumRunLength(k: number, h: number, shift: number, sides: 1 | 2): number {
  const up = oneSidedCusum(k, h, shift);
  if (sides === 1) return up;
  const down = oneSidedCusum(k, h, -shift);
  return 1 / (1 / up + 1 / down);
}

function oneSidedCusum(k: number, h: number, shift: number): number {
  const { nodes, weights } = scaled(0, h, nodeCount(h, 'h'));
  const states = [0, ...nodes];
  const moves = states.map((u) =>
    Float64Array.of(normalCdf(k - u - shift), ...nodes.map((v, j) => weights[j]! * normalDensity(v - u + k - shift))),
  );
  const leaving = Float64Array.from(states, (u) => normalUpper(h - u + k - shift));
  return stepsUntilLeaving(moves, leaving)[0]!;
}

/** More equations than this take seconds to solve. */
const MOST_NODES = 1500;

/** Enough nodes for a normal density of width 1 moving over a range of this length. */
function nodeCount(range: number, field: string): number {
  const nodes = Math.ceil(40 + 5 * range);
  if (nodes > MOST_NODES) {
    throw new CalculationError(field, 'the limits lie too far apart, in steps of the chart, to be computed');
  }
  return nodes;
}

function scaled(from: number, to: number, order: number): { nodes: number[]; weights: number[] } {
  const rule = gaussLegendre(order);
  const half = (to - from) / 2;
  return {
    nodes: Array.from(rule.nodes, (node) => from + half * (1 + node)),
    weights: Array.from(rule.weights, (weight) => half * weight),
  };
}
