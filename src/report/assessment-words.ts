import type {
  Assessment,
  CapabilityResult,
  CheckFinding,
  CheckResult,
  ClaimNote,
  UnitResult,
} from '../assessment/assessment.js';
import type { CheckCode } from '../assessment/checks/check-code.js';
import type { Facts } from '../dossier/facts.js';
import { capabilityMethodText, capabilityNoteText, exclusionText, signalTexts } from './phrases/capability.js';
import { CHECK_PHRASES } from './phrases/checks/catalogue.js';
import { CLAIM_PHRASES } from './phrases/claims.js';
import { type CheckPhrases, NoWords, type Told, toldBy, type Words } from './phrases/phrase.js';
import { planRuleText, planText } from './phrases/plans.js';
import { UNKNOWN_RULE } from './phrases/unknown-rule.js';
import { valueText, verdictNoteText } from './phrases/values.js';

/** The words on an assessment: those on checks and findings come this way alone to page, paper, command and API. */

type Finding = Pick<CheckFinding, 'rule' | 'facts'>;

/** Undefined for a check of another version. */
const phrasesOf = (check: string): CheckPhrases | undefined =>
  Object.hasOwn(CHECK_PHRASES, check) ? CHECK_PHRASES[check as CheckCode] : undefined;

export const checkTitle = (check: string): string => phrasesOf(check)?.title ?? check;

/** Why a check does not apply, or what it looked at; empty when it looked at nothing. */
export function basisWords({ code, outcome, basis }: Pick<CheckResult, 'code' | 'outcome' | 'basis'>): string {
  const phrases = phrasesOf(code);
  if (outcome === 'does not apply') return phrases?.doesNotApply ?? '';
  if (Object.keys(basis).length === 0) return '';
  return worded(basis, phrases?.basis) ?? factsText(basis);
}

/**
 * What a finding of a check says, and who clears it. A stored assessment may hold rules that this version does not
 * know, or knows with other facts: their codes and facts are shown as they are.
 */
export function findingWords(check: string, { rule, facts }: Finding): Words {
  const phrases = phrasesOf(check);
  const phrase = phrases && Object.hasOwn(phrases.rules, rule) ? phrases.rules[rule] : undefined;
  const { otherRule } = phrases ?? {};
  const other = otherRule && 'logFinding' in facts ? (told: Told) => otherRule(told, rule) : undefined;
  const words = worded(facts, phrase ?? other);
  if (words) return words;
  return UNKNOWN_RULE.finding(rule, factsText(facts));
}

/** What a phrase makes of facts; undefined where those of an earlier version lack one, or tell what no phrase knows. */
function worded<T, Name extends string>(
  facts: Readonly<Record<string, string>>,
  phrase: ((facts: Readonly<Record<Name, string>>) => T) | undefined,
): T | undefined {
  try {
    return phrase?.(toldBy(facts));
  } catch (error) {
    if (error instanceof NoWords) return undefined;
    throw error;
  }
}

const factsText = (facts: Readonly<Record<string, string>>): string =>
  Object.entries(facts)
    .map(([name, value]) => UNKNOWN_RULE.fact(name, value))
    .join(', ');

export const claimWords = ({ what, facts }: Pick<ClaimNote, 'what' | 'facts'>): string =>
  worded(facts, CLAIM_PHRASES[what]) ?? UNKNOWN_RULE.says(what, factsText(facts));

type Reason = UnitResult['why'][number];

/** Findings of the checks of one assessment, as far as reasons lead to them. */
export type FoundByChecks = readonly {
  readonly code: string;
  readonly findings: readonly Pick<CheckFinding, 'id' | 'rule' | 'facts'>[];
}[];

/** Gives the words on the reasons against units, which lead to findings of these checks. */
export function reasonWords(checks: FoundByChecks): (reason: Pick<Reason, 'check' | 'finding'>) => Words {
  const found = new Map(
    checks.flatMap(({ code, findings }) => findings.map((finding) => [`${code} ${finding.id}`, finding])),
  );
  const said = new Map<string, Words>();
  return ({ check, finding }) => {
    const key = `${check} ${finding}`;
    const known = said.get(key) ?? findingWords(check, found.get(key) ?? { rule: UNKNOWN_RULE.notOnRecord, facts: {} });
    said.set(key, known);
    return known;
  };
}

/** Reasons against units with their words beside the codes. */
export function reasonsInWords(checks: FoundByChecks, why: readonly Reason[]): (Reason & Words)[] {
  const words = reasonWords(checks);
  return why.map((reason) => ({ ...reason, ...words(reason) }));
}

export const checkInWords = (check: CheckResult) => ({
  ...check,
  title: checkTitle(check.code),
  basisSays: basisWords(check),
  claims: check.claims.map((claim) => ({ ...claim, says: claimWords(claim) })),
  findings: check.findings.map((finding) => ({ ...finding, ...findingWords(check.code, finding) })),
});

/** An assessment as commands and the API answer it: codes and facts, and the words beside them. */
export const assessmentInWords = (assessment: Assessment) => ({
  ...assessment,
  checks: assessment.checks.map(checkInWords),
  units: assessment.units.map((unit) => ({ ...unit, why: reasonsInWords(assessment.checks, unit.why) })),
});

interface Assessed {
  readonly facts: Pick<Facts, 'specification'>;
  readonly assessment: Assessment;
}

/** The same of an assessed lot, with the words on values, plans and family performance, which need what was planned. */
export function assessedInWords({ facts, assessment }: Assessed) {
  const items = new Map(facts.specification.body.characteristics.map((item) => [item.characteristic, item]));
  return {
    ...assessmentInWords(assessment),
    characteristics: assessment.characteristics.map((verdict) => {
      const item = items.get(verdict.characteristic)!;
      return {
        ...verdict,
        values: verdict.values.map((value) => ({ ...value, says: valueText(item, value) })),
        plan: { ...verdict.plan, ruleSays: planRuleText(item.plan), says: planText(item, verdict.plan) },
        notesSay: verdict.notes.map(verdictNoteText),
      };
    }),
    capability: assessment.capability.map(capabilityInWords),
  };
}

export const capabilityInWords = (capability: CapabilityResult) => ({
  ...capability,
  excluded: capability.excluded.map((one) => ({ ...one, says: exclusionText(one.why) })),
  methodSays: capability.method === null ? null : capabilityMethodText(capability.method),
  notesSay: capability.notes.map(capabilityNoteText),
  signalsSay: signalTexts(capability),
});
