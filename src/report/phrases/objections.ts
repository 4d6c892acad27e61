import type { CheckResult, UnitResult } from '../../assessment/assessment.js';
import { reasonWords } from '../assessment-words.js';

/** Why the order of things forbids a signature, by code. The rules: `src/signing/order.ts` and `unit-objection.ts`. */
export const OBJECTIONS = {
  'not authored': () => 'its author has not signed it as performed yet',
  'no analyst': ({ person }: { person: string }) =>
    `${person} is not named as analyst of any value in it; whoever measured signs`,
  'not reviewed': () => 'nobody has reviewed this lot file as it stands now; a quality engineer reviews first',
  /** Told by what is to be signed, as its own state forbids it. */
  'state of the thing': ({ says }: { says: string }) => says,
  'no unit of the lot': ({ serial }: { serial: string }) => `${serial} is no unit of this lot`,
  'decided already': (unit: { serial: string; decision: string; name: string; code: string; at: string }) =>
    `${unit.serial} was ${unit.decision} by ${unit.name} (${unit.code}) at ${unit.at} already`,
  'on hold': ({ serial, reason }: { serial: string; reason: string }) => `${serial} is on hold: ${reason}`,
  'does not conform': ({ serial }: { serial: string }) => `${serial} may not be released: it does not conform`,
  'held back': (unit: { serial: string; why: UnitResult['why'][number]; checks: readonly CheckResult[] }) => {
    const { says, clearedBy } = reasonWords(unit.checks)(unit.why);
    return `${unit.serial} may not be released: ${says} ${clearedBy}`;
  },
  /** First somebody looks at it. */
  'changed verdict': ({ serial, entry }: { serial: string; entry: number }) =>
    `${serial} may not be released: another version of the rules changed what is said of it (entry ${entry} of the audit trail), and no quality engineer has looked at that. Quality engineer: look at the changed verdicts of the lot and say what follows.`,
  'more than counted': ({ decided, toDecide }: { decided: number; toDecide: number }) =>
    `${decided} implants would be released or rejected, and the lot file counts ${toDecide} to decide on; count again`,
  'several for a case': ({
    code,
    before,
    now,
  }: {
    code: string;
    before: readonly OtherUnit[];
    now: readonly string[];
  }) => {
    const all = [...before.map(({ serial, lot }) => `${serial} of lot ${lot}`), ...now];
    return `case ${code} would have ${all.length} released implants (${all.join(', ')}); give the reason why it needs them`;
  },
};

interface OtherUnit {
  readonly serial: string;
  readonly lot: string;
}

type Code = keyof typeof OBJECTIONS;

/** A code with the facts that its words need. */
export type Objection = {
  [One in Code]: { readonly code: One } & (Parameters<(typeof OBJECTIONS)[One]> extends [infer Facts]
    ? { readonly facts: Facts }
    : { readonly facts?: undefined });
}[Code];

export function objectionText({ code, facts }: Objection): string {
  const words = OBJECTIONS[code] as (facts: Objection['facts']) => string;
  return words(facts);
}
