import type { CheckFinding, CheckResult, Gate, UnitResult } from '../../assessment/assessment.js';
import type { ReleaseStep } from '../../dossier/release-step.js';
import type { Statement } from '../../dossier/statement.js';
import { findingWords, reasonWords } from '../assessment-words.js';
import { type CodedBy, codedText } from './coded.js';
import { kindText } from './kinds.js';
import { type ConditionCode, conditionText } from './release-conditions.js';
import { gatesText, releaseStepText, signedAsText } from './release-steps.js';

/**
 * Why the order or the state of things forbids a signature, a hold, its lift or a revocation, by code. The rules: `order.ts`,
 * `unit-objection.ts`, `subjects.ts` and `state-acts.ts` in `src/signing`.
 */
export const OBJECTIONS = {
  'not authored': () => 'its author has not signed it as performed yet',
  'no analyst': ({ person }: { person: string }) =>
    `${person} is not named as analyst of any value in it; whoever measured signs`,
  'not reviewed': () => 'nobody has reviewed this lot file as it stands now; a quality engineer reviews first',
  'no open account': () => 'you have no open account',
  'signed already': () => 'you have signed exactly this already',
  'in quarantine': ({ receipt }: { receipt: string }) =>
    `receipt ${receipt} is in quarantine: take it in again with the status accepted or rejected`,
  'one of many': ({ count, group }: { count: number; group: string }) =>
    `it is one of ${count} that are alike and decided together, as ${group}`,
  'no decision lifts': ({ check, finding }: { check: string; finding: Pick<CheckFinding, 'rule' | 'facts'> }) =>
    `no decision lifts this finding. ${findingWords(check, finding).clearedBy}`,
  'conceded with its clause': ({ check, finding }: { check: string; finding: Pick<CheckFinding, 'rule' | 'facts'> }) =>
    `no decision on this finding lets a unit go: a concession names its clause and justification, in a nonconformity. ${findingWords(check, finding).clearedBy}`,
  'never conceded': ({ check, finding }: { check: string; finding: Pick<CheckFinding, 'rule' | 'facts'> }) => {
    const { says, clearedBy } = findingWords(check, finding);
    return `no concession lets a unit go against this: ${says} ${clearedBy}`;
  },
  alert: () => 'an alert is noted and needs no decision',
  'no units': () => 'this lot has no units',
  'no unit of the lot': ({ serial }: { serial: string }) => `${serial} is no unit of this lot`,
  'decided already': ({ serial, by }: { serial: string; by: Pick<Statement, 'meaning' | 'step' | 'person' | 'at'> }) =>
    `${serial} was ${signedAsText(by)} by ${by.person.name} (${by.person.code}) at ${by.at} already`,
  'step not asked': ({ serial, step, steps }: { serial: string; step: ReleaseStep; steps: readonly ReleaseStep[] }) =>
    `the route of ${serial} asks for no release for ${releaseStepText(step)}; it asks for one for ${steps.map(releaseStepText).join(', then one for ')}`,
  'earlier step open': ({ serial, step, earlier }: { serial: string; step: ReleaseStep; earlier: ReleaseStep }) =>
    `${serial} may not be released for ${releaseStepText(step)}: it is not released for ${releaseStepText(earlier)}, which comes first`,
  'gates open': ({ serial, gates }: { serial: string; gates: readonly Gate[] }) =>
    `${serial} may not be released for ${releaseStepText('distribution')}: ${gatesText(gates)}`,
  'on hold': ({ serial, reason }: { serial: string; reason: string }) => `${serial} is on hold: ${reason}`,
  'does not conform': ({ serial }: { serial: string }) => `${serial} may not be released: it does not conform`,
  'held back': (unit: { serial: string; why: UnitResult['why'][number]; checks: readonly CheckResult[] }) => {
    const { says, clearedBy } = reasonWords(unit.checks)(unit.why);
    return `${unit.serial} may not be released: ${says} ${clearedBy}`;
  },
  /** First somebody looks at it. */
  'changed verdict': ({ serial, entry }: { serial: string; entry: number }) =>
    `${serial} may not be released: another version of the rules changed what is said of it (entry ${entry} of the audit trail), and no quality engineer has looked at that. Quality engineer: look at the changed verdicts of the lot and say what follows.`,
  'not there': ({ part, as, at }: { part: string; as: string; at: string }) =>
    `${part} was ${as} at ${at}, as the lot file says, and is not there to be released`,
  moved: ({ part, lot, move, at }: { part: string; lot: string; move: string; at: string }) =>
    `${part} went on in lot ${lot} at ${at}, by move ${move}, and is decided on there`,
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
  condition: (one: { condition: ConditionCode; facts: Readonly<Record<string, string>> }) => conditionText(one),
  'not on hold': ({ serial }: { serial: string }) => `${serial} is not on hold`,
  /** A revocation names one step. */
  'other steps': ({ units }: { units: readonly { readonly serial: string; readonly step: ReleaseStep }[] }) =>
    `${units.map(({ serial, step }) => `${serial} is released for ${releaseStepText(step)}`).join(', ')}: revoke what is released for another step apart`,
  'not released': ({ serial }: { serial: string }) => `${serial} is not released`,
  'withdrawn already': ({ kind, key, revision }: { kind: string; key: string; revision: number }) =>
    `${kindText(kind)} ${key} revision ${revision} is withdrawn already`,
  'under legal hold': ({ lot }: { lot: string }) => `lot ${lot} is under legal hold already`,
  'not under legal hold': ({ lot }: { lot: string }) => `lot ${lot} is not under legal hold`,
};

interface OtherUnit {
  readonly serial: string;
  readonly lot: string;
}

export type Objection = CodedBy<typeof OBJECTIONS>;

export const objectionText = (objection: Objection): string => codedText(OBJECTIONS, objection);
