import { type Acceptance, accept } from './acceptance.js';
import type { Carried, Json } from './carried.js';
import { CHECKS_OF_BUILDING } from './checks-of-building.js';
import { CHECKS_OF_CASES } from './checks-of-cases.js';
import { CHECKS_OF_DEPOSITS } from './checks-of-deposits.js';
import { CHECKS_OF_EXPOSURES } from './checks-of-exposures.js';
import { CHECKS_OF_LINES } from './checks-of-lines.js';
import { CHECKS_OF_LOADS } from './checks-of-loads.js';
import { CHECKS_OF_MATERIALS } from './checks-of-materials.js';
import { CHECKS_OF_PAPERS } from './checks-of-papers.js';
import { CHECKS_OF_REWORKS } from './checks-of-reworks.js';
import { CHECKS_OF_STOCK } from './checks-of-stock.js';
import { CHECKS_OF_TESTING } from './checks-of-testing.js';
import { shapesWithin } from './shapes.js';
import { windowsMet } from './windows.js';
import { actsOn, type Found, type State, stateOf } from './words.js';

/** What a check asks of a lot: what it found, and whether it applies where it found nothing. */
export type Asked = (
  carried: Carried,
  verdicts: readonly Acceptance[],
) => {
  readonly found: readonly Found[];
  readonly applies?: boolean;
};

/** One function for each paragraph of the note, by the code of the check. A new check adds its own. */
const ASKED: Readonly<Record<string, Asked>> = {
  ...CHECKS_OF_CASES,
  ...CHECKS_OF_LINES,
  ...CHECKS_OF_LOADS,
  ...CHECKS_OF_PAPERS,
  ...CHECKS_OF_MATERIALS,
  ...CHECKS_OF_DEPOSITS,
  ...CHECKS_OF_BUILDING,
  ...CHECKS_OF_TESTING,
  ...CHECKS_OF_EXPOSURES,
  ...CHECKS_OF_REWORKS,
  ...CHECKS_OF_STOCK,
  'support-window-met': windowsMet,
  'shape-within-profile': shapesWithin,
};

export interface Checked {
  readonly code: string;
  readonly state: State;
  /** Rule, effect, what people may do, and each implant, once and in order: comparable with what the record states. */
  readonly found: readonly string[];
}

/** Every check that the record tells of, made again. */
export function checkAll(carried: Carried): Checked[] {
  const verdicts = accept(carried);
  return (carried.assessment.checks as Json[]).map(({ code }) => {
    const asked = ASKED[code];
    if (asked === undefined)
      throw new Error(`the script has no function for the check ${code}: write it from its paragraph`);
    const { found, applies = true } = asked(carried, verdicts);
    const told = found.map((one) => ({ ...one, mayBeDecided: one.may, units: actsOn(carried, one) }));
    return { code, state: stateOf(carried, code, found, applies), found: tellings(told) };
  });
}

/** The same of what the record states. */
export const statedChecks = ({ assessment }: Carried): Checked[] =>
  assessment.checks.map(({ code, outcome, findings }: Json) => ({ code, state: outcome, found: tellings(findings) }));

const tellings = (findings: readonly Json[]): string[] =>
  [
    ...new Set(
      findings.flatMap(({ rule, effect, mayBeDecided, units }) =>
        units.map((unit: string) => `${rule} (${effect}, ${mayBeDecided}): ${unit}`),
      ),
    ),
  ].sort() as string[];
