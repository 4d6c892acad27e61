import { digestOf } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { LotFileFormat } from '../../dossier/schema.js';
import { partsMadeIn } from '../../kinds/build-chain.js';
import type { CheckFinding, CheckResult, ClaimNote, Outcome, Subject } from '../assessment.js';
import { decisionOn } from '../finding-decisions.js';
import type { CheckCode } from './check-code.js';
import type { FindingDraft, Told } from './finding-draft.js';

/** One release check: a rule with a code, the clause it serves, and a pure function over the facts of a lot. */
export interface Check {
  readonly code: CheckCode;
  /** The format of the lot file from which on it is asked: an older one is asked only what it could answer. */
  readonly since: LotFileFormat;
  /** Clause of the standard or law that the check serves; an aid, not legal advice. */
  readonly clause: string;
  /** The first moment at which the question can be answered. */
  readonly moment: CheckResult['moment'];
  /**
   * Set where it looks at what belongs to one case alone. What it finds then names things by code and quotes no word of them:
   * the whole assessment goes into the copy for the institution of another case, which compares only what it can see.
   */
  readonly looksAtCases?: true;
  run(facts: Facts): CheckRun;
}

export interface CheckRun {
  readonly findings: readonly FindingDraft[];
  readonly claims?: readonly ClaimNote[];
  /** What the check looked at: told when it passes. */
  readonly basis: Told;
  readonly doesNotApply?: boolean;
}

export function runCheck(check: Check, facts: Facts): CheckResult {
  const run = check.run(facts);
  const findings = run.findings.map((draft) => finished(facts, check.code, draft));
  return {
    code: check.code,
    clause: check.clause,
    moment: check.moment,
    // Whatever was found, the check applied.
    outcome: run.doesNotApply === true && findings.length === 0 ? 'does not apply' : outcomeOf(run.findings, findings),
    basis: { ...run.basis },
    claims: [...(run.claims ?? [])],
    findings,
  };
}

/**
 * The identity of a finding: a decision on it holds while check, rule, subjects and facts are unchanged. The lot is part
 * of it, since two lots can have the same specification, counts, rows and times.
 */
export const findingId = (
  { dossier: { lot } }: Pick<Facts, 'dossier'>,
  check: string,
  { rule, subjects, facts }: Pick<FindingDraft, 'rule' | 'subjects' | 'facts'>,
): string => digestOf({ lot, check, rule, subjects, facts });

function finished(facts: Facts, check: string, draft: FindingDraft): CheckFinding {
  const { rule, subjects, effect, mayBeDecided = 'no' } = draft;
  const id = findingId(facts, check, draft);
  // A concession is no decision on the finding: it stands in a nonconformity, with its clause.
  const decision = mayBeDecided === 'decision' ? decisionOn(facts, { id }) : undefined;
  return {
    id,
    rule,
    subjects: [...subjects],
    facts: { ...draft.facts },
    effect,
    units: unitsInTheWay(facts, draft),
    mayBeDecided,
    decision: decision?.outcome ?? null,
  };
}

/** What names no implant of the lot speaks of the lot as a whole: it stands in the way of each of them. */
function unitsInTheWay(facts: Facts, { units }: FindingDraft): string[] {
  const known = allUnits(facts);
  const named = units.filter((unit) => known.includes(unit));
  return named.length > 0 ? named : known;
}

/** A decision that the finding allows makes it count no more; a concession leaves it counting. */
export const isLifted = (finding: Pick<CheckFinding, 'mayBeDecided' | 'decision'>): boolean =>
  finding.decision === 'accepted';

/** Evidence that is missing leaves a check undecided; a fact against the lot, or a block, fails it. */
function outcomeOf(drafts: readonly FindingDraft[], findings: readonly CheckFinding[]): Outcome {
  const counting = drafts.filter((_, index) => !isLifted(findings[index]!));
  if (counting.length === 0) return 'passes';
  const open = counting.every((draft) => draft.effect === 'cannot be decided' || draft.wantsEvidence === true);
  return open ? 'cannot be decided' : 'fails';
}

export const subject = (kind: string, key: string): Subject => ({ kind, key });

/** Serials of every implant of the lot. */
export const allUnits = (facts: Facts): string[] => facts.lot.body.implants.map((implant) => implant.serial);

/** Serials of the implants that went through a closure: built, begun before an interruption, or only finished there. */
export const unitsOfBuild = (facts: Facts, build: string): string[] =>
  partsMadeIn(facts.lot.body, build).flatMap((part) => ('serial' in part ? [part.serial] : []));

export const isAfter = (a: string, b: string): boolean => Date.parse(a) > Date.parse(b);
