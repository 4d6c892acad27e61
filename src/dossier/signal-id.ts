import { digestOf } from './canonical.js';

/** Identity of a signal: later points do not change it, another plan or corrected points do. */
export const signalId = (plan: string, revision: number, rule: string, points: readonly string[]): string =>
  digestOf({ plan, revision, rule, points: [...points] });
