import { stepsUntilLeaving } from './absorption.js';
import { normalCdf, normalUpper } from './distributions.js';
import type { RunRule } from './run-rules.js';

/** Rules whose cost in false alarms is computed exactly. */
export const RULES_WITH_RUN_LENGTH = [
  'beyondThreeSigma',
  'twoOfThreeBeyondTwoSigma',
  'fourOfFiveBeyondOneSigma',
  'eightOneSide',
] as const satisfies readonly RunRule[];

export type RuleWithRunLength = (typeof RULES_WITH_RUN_LENGTH)[number];

/** Zones of a point by distance from the centre: 0 to 1, 1 to 2, 2 to 3, beyond 3 sigma; negative below the centre. */
const ZONES = [-4, -3, -2, -1, 1, 2, 3, 4] as const;

/** What the rules must remember: which of the last points lay beyond 2 and 1 sigma on each side, and the row. */
interface Memory {
  readonly aboveTwo: number;
  readonly belowTwo: number;
  readonly aboveOne: number;
  readonly belowOne: number;
  /** Points in a row on one side, negative below the centre. */
  readonly row: number;
}

const FRESH: Memory = { aboveTwo: 0, belowTwo: 0, aboveOne: 0, belowOne: 0, row: 0 };

/**
 * Average run length of a chart with the given rules, from a fresh start, for normal points with the mean off the centre
 * by `shift` sigma: an exact Markov chain over what the rules remember.
 * Source: Champ and Woodall, Technometrics 29 (1987).
 */
export function ruleRunLength(rules: readonly RuleWithRunLength[], shift: number): number {
  const { next } = reachableStates(new Set(rules));
  const probabilities = ZONES.map((zone) => zoneProbability(zone, shift));
  const moves = next.map(() => new Float64Array(next.length));
  const leaving = new Float64Array(next.length);
  next.forEach((targets, from) => {
    targets.forEach((to, zone) => {
      const probability = probabilities[zone]!;
      if (to === SIGNAL) leaving[from]! += probability;
      else if (to !== from) moves[from]![to]! += probability;
    });
  });
  return stepsUntilLeaving(moves, leaving)[0]!;
}

const SIGNAL = -1;

/** All memories that can occur without a signal, and where each zone leads from them. */
function reachableStates(rules: ReadonlySet<RuleWithRunLength>): { next: number[][] } {
  const numbers = new Map([[keyOf(FRESH), 0]]);
  const states = [FRESH];
  const next: number[][] = [];
  for (let i = 0; i < states.length; i++) {
    next.push(
      ZONES.map((zone) => {
        const after = step(states[i]!, zone, rules);
        if (after === undefined) return SIGNAL;
        const key = keyOf(after);
        if (!numbers.has(key)) {
          numbers.set(key, states.length);
          states.push(after);
        }
        return numbers.get(key)!;
      }),
    );
  }
  return { next };
}

/** The memory after one more point, or nothing when the point completes a pattern. */
function step(memory: Memory, zone: number, rules: ReadonlySet<RuleWithRunLength>): Memory | undefined {
  if (rules.has('beyondThreeSigma') && Math.abs(zone) === 4) return undefined;
  let { aboveTwo, belowTwo, aboveOne, belowOne, row } = memory;
  if (rules.has('twoOfThreeBeyondTwoSigma')) {
    aboveTwo = shifted(aboveTwo, zone >= 3, 3);
    belowTwo = shifted(belowTwo, zone <= -3, 3);
    if (bits(aboveTwo) >= 2 || bits(belowTwo) >= 2) return undefined;
  }
  if (rules.has('fourOfFiveBeyondOneSigma')) {
    aboveOne = shifted(aboveOne, zone >= 2, 5);
    belowOne = shifted(belowOne, zone <= -2, 5);
    if (bits(aboveOne) >= 4 || bits(belowOne) >= 4) return undefined;
  }
  if (rules.has('eightOneSide')) {
    row = Math.sign(row) === Math.sign(zone) ? row + Math.sign(zone) : Math.sign(zone);
    if (Math.abs(row) >= 8) return undefined;
  }
  return {
    aboveTwo: forgetOldest(aboveTwo, 3),
    belowTwo: forgetOldest(belowTwo, 3),
    aboveOne: forgetOldest(aboveOne, 5),
    belowOne: forgetOldest(belowOne, 5),
    row,
  };
}

/** The window of the last points as bits, newest lowest. */
function shifted(window: number, hit: boolean, length: number): number {
  return ((window << 1) | (hit ? 1 : 0)) & ((1 << length) - 1);
}

/** The oldest point of a full window has left it before the next point comes. */
function forgetOldest(window: number, length: number): number {
  return window & ((1 << (length - 1)) - 1);
}

function bits(window: number): number {
  let count = 0;
  for (let rest = window; rest > 0; rest >>= 1) count += rest & 1;
  return count;
}

function keyOf(memory: Memory): string {
  return Object.values(memory).join(',');
}

function zoneProbability(zone: number, shift: number): number {
  const inner = Math.abs(zone) - 1;
  const towards = zone > 0 ? shift : -shift;
  const nearer = normalUpper(inner - towards);
  if (Math.abs(zone) === 4) return nearer;
  // From the side where the difference keeps its digits.
  return inner - towards < 0
    ? normalCdf(inner + 1 - towards) - normalCdf(inner - towards)
    : nearer - normalUpper(inner + 1 - towards);
}
