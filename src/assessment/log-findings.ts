import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import type { Role } from '../dossier/statement.js';
import { isGroup, type JudgedFinding, judgedKind, putTogether } from './alike-findings.js';
import type { ClaimNote, Effect } from './assessment.js';
import { subject } from './checks/check.js';
import type { FindingDraft } from './checks/finding-draft.js';
import { type Coverage, coverageOf, notRepresented } from './coverage.js';
import { type Decided, decisionOn } from './finding-decisions.js';
import { noteOf } from './signed.js';
import { unitsOfSpecimen } from './specimens.js';

const judgedBy = new WeakMap<Facts, readonly JudgedFinding[]>();

/**
 * The findings of all logs of the lot, in the order of the builds and then as scanned, many alike put together. Passing a
 * reject level passes the alert and action levels too: a milder finding is left out where a more severe one lies within it
 * and touches every implant that it touches.
 */
export function logFindingsOf(facts: Facts): readonly JudgedFinding[] {
  // Asked for by checks, tables and pictures of one and the same lot file, and long to make for a noisy log.
  const known = judgedBy.get(facts);
  if (known) return known;
  const touched = new Map<LogFinding, Coverage>();
  const coverage = (finding: LogFinding): Coverage => {
    const found = touched.get(finding) ?? coverageOf(facts, finding);
    touched.set(finding, found);
    return found;
  };
  const findings = facts.lot.body.builds.flatMap((build) =>
    withoutMilder(facts.logParts.get(build.build)?.findings ?? [], coverage),
  );
  const judged = putTogether(facts.lot.body.lot, findings, coverage);
  judgedBy.set(facts, judged);
  return judged;
}

const SEVERITY: readonly LogFinding['level'][] = ['alert', 'action', 'reject'];

function withoutMilder(findings: readonly LogFinding[], coverage: (finding: LogFinding) => Coverage): LogFinding[] {
  const sides = new Map<string, LogFinding[]>();
  const sideOf = ({ channel, facts }: LogFinding) => JSON.stringify([channel, facts.direction]);
  for (const finding of findings) {
    if (finding.rule !== 'excursion') continue;
    const known = sides.get(sideOf(finding));
    if (known) known.push(finding);
    else sides.set(sideOf(finding), [finding]);
  }
  for (const side of sides.values()) side.sort((a, b) => (a.startedAt! < b.startedAt! ? -1 : 1));
  const isTold = (mild: LogFinding): boolean => {
    const side = sides.get(sideOf(mild))!;
    for (let at = firstFrom(side, mild.startedAt!); at < side.length && side[at]!.startedAt! <= mild.endedAt!; at++) {
      const severe = side[at]!;
      if (SEVERITY.indexOf(severe.level) <= SEVERITY.indexOf(mild.level) || severe.endedAt! > mild.endedAt!) continue;
      const touched = coverage(severe).implants;
      if (coverage(mild).implants.every((implant) => touched.includes(implant))) return true;
    }
    return false;
  };
  return findings.filter((finding) => finding.rule !== 'excursion' || !isTold(finding));
}

/** Place of the first finding that starts at `at` or later. */
function firstFrom(inOrder: readonly LogFinding[], at: string): number {
  let [from, to] = [0, inOrder.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (inOrder[middle]!.startedAt! < at) from = middle + 1;
    else to = middle;
  }
  return from;
}

/** How many findings of the scan these are. */
export const countOf = (findings: readonly JudgedFinding[]): number =>
  findings.reduce((sum, { members }) => sum + members.length, 0);

/**
 * What a log finding does to the units it covers (docs/trade.md 3.3): an alert is noted; an action finding leaves them
 * undecided until people decide; a reject finding fails them, whatever is decided.
 */
export function effectOf(finding: LogFinding, decision: Decided | undefined): Effect | undefined {
  if (finding.level === 'alert') return undefined;
  if (finding.level === 'reject' || decision?.outcome === 'rejected') return 'does not conform';
  return decision?.outcome === 'accepted' ? undefined : 'cannot be decided';
}

/** What touches coupons and no implant acts through the coupons, on those for whom they stand. */
const isOfCouponsAlone = ({ implants, coupons }: Coverage): boolean => implants.length === 0 && coupons.length > 0;

/** Implants on which a finding acts: those that it covers, or else those for whom the coupons stand that it covers. */
export function implantsActedOn(facts: Facts, finding: Pick<LogFinding, 'build' | 'places'>): string[] {
  const coverage = coverageOf(facts, finding);
  if (!isOfCouponsAlone(coverage)) return [...coverage.implants];
  return [...new Set(coverage.coupons.flatMap((coupon) => unitsOfSpecimen(facts, coupon)))];
}

/** Drafts for those findings that act on units, and a claim for each decision that lifts one. */
export function actOn(
  facts: Facts,
  chosen: readonly JudgedFinding[],
): { findings: FindingDraft[]; claims: ClaimNote[] } {
  const findings: FindingDraft[] = [];
  const claims: ClaimNote[] = [];
  for (const finding of chosen) {
    const decision = decisionOn(facts, finding);
    const effect = effectOf(finding, decision);
    for (const { outcome, person, at } of finding.level === 'alert' ? [] : (decision?.statements ?? [])) {
      const facts = { finding: finding.id, outcome: outcome ?? '', role: person.role };
      claims.push(noteOf('log finding', facts, { how: 'signed', by: person.code, at }));
    }
    const ofCoupons = isOfCouponsAlone(coverageOf(facts, finding));
    // It is the coupon that fails then, and not the implant: `coupons-represent` asks whether it still speaks.
    if (!effect || (ofCoupons && effect === 'does not conform')) continue;
    findings.push({
      rule: finding.rule,
      subjects: [subject(judgedKind(finding), finding.id), subject('build', finding.build)],
      facts: {
        finding: finding.id,
        build: finding.build,
        channel: finding.channel ?? '',
        level: finding.level,
        ...(isGroup(finding) ? { members: String(finding.members.length) } : {}),
        ...(decision ? { decision: decision.outcome } : {}),
        ...(decision?.outcome === 'half' ? { stillToSign: missingRole(decision) } : {}),
        logFinding: detailsOf(finding),
        coupons: canonicalJson(notRepresented(facts, finding)),
      },
      effect,
      units: implantsActedOn(facts, finding),
    });
  }
  return { findings, claims };
}

/** What the words on a finding are made from. */
const detailsOf = ({ rule, level, channel, ucum, facts, places, steps }: LogFinding) =>
  canonicalJson({ rule, level, channel, ucum, facts, places, steps });

/** Who of the two has not signed yet. */
const missingRole = ({ statements }: Decided): Role =>
  statements.some(({ person }) => person.role === 'quality engineer') ? 'process engineer' : 'quality engineer';
