import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import type { Role } from '../dossier/statement.js';
import type { FindingDecision } from '../kinds/lot.js';
import { isGroup, type JudgedFinding, judgedKind, putTogether } from './alike-findings.js';
import type { ClaimNote, Effect } from './assessment.js';
import { subject } from './checks/check.js';
import type { FindingDraft } from './checks/finding-draft.js';
import { type Coverage, coverageOf, type LayerRange, notRepresented } from './coverage.js';
import { type Decided, decisionOn } from './finding-decisions.js';
import { noteOf } from './signed.js';
import { unitsOfSpecimen } from './specimens.js';

/** The latest decision that the lot file claims on a finding; it decides nothing. */
export function claimedDecisionOn(facts: Facts, finding: { readonly id: string }): FindingDecision | undefined {
  return facts.lot.body.decisions
    .filter((decision) => finding.id.startsWith(decision.finding))
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
}

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

/** Findings of one kind may be decided together, and are counted together: `excursion of oxygen, action level, high`. */
export function findingKind({ rule, channel, level, facts }: LogFinding): string {
  const direction = facts.direction === undefined ? '' : `, ${facts.direction}`;
  return `${rule}${channel === null ? '' : ` of ${channel}`}, ${level} level${direction}`;
}

/** One decision on one log finding, of this lot or of an earlier one. */
export interface DecidedFinding {
  /** As `findingKind` says it. */
  readonly kind: string;
  readonly outcome: 'accepted' | 'rejected';
  readonly lot: string;
  /** When the last signature was given. */
  readonly at: string;
}

/** The decisions on the log findings of this lot that count. */
export function decidedFindings(facts: Facts): DecidedFinding[] {
  return logFindingsOf(facts).flatMap((finding) => {
    const decision = decisionOn(facts, finding);
    if (decision === undefined || decision.outcome === 'half') return [];
    const times = decision.statements.map(({ at }) => at).sort((a, b) => Date.parse(a) - Date.parse(b));
    return [{ kind: findingKind(finding), outcome: decision.outcome, lot: facts.lot.body.lot, at: times.at(-1)! }];
  });
}

/** How often findings of one kind were decided: repeated acceptance is a trend (docs/trade.md 3.6). */
export interface DecisionCount {
  readonly kind: string;
  readonly accepted: number;
  readonly rejected: number;
  /** Lots in which one was accepted. */
  readonly lots: readonly string[];
  readonly firstAt: string;
  readonly lastAt: string;
}

/**
 * Counts decisions by kind, the most often accepted first.
 * @param decisions of as many lots as wanted, in any order.
 */
export function decisionCounts(decisions: readonly DecidedFinding[]): DecisionCount[] {
  const kinds = new Map<string, DecidedFinding[]>();
  for (const decision of decisions) kinds.set(decision.kind, [...(kinds.get(decision.kind) ?? []), decision]);
  return [...kinds]
    .map(([kind, all]) => {
      const accepted = all.filter(({ outcome }) => outcome === 'accepted');
      const times = all.map(({ at }) => at).sort((a, b) => Date.parse(a) - Date.parse(b));
      return {
        kind,
        accepted: accepted.length,
        rejected: all.length - accepted.length,
        lots: [...new Set(accepted.map(({ lot }) => lot))].sort(),
        firstAt: times[0]!,
        lastAt: times.at(-1)!,
      };
    })
    .sort((a, b) => b.accepted - a.accepted || (a.kind < b.kind ? -1 : 1));
}

/** So many stretches of layers, and so many zones, are told one by one. */
const MOST_TOLD = 4;

/** Where a finding lies, in words: `zone P2-bridge, layers 21 to 24, during peen`. */
export function whereText(finding: Pick<LogFinding, 'places' | 'steps'>): string {
  const zones = new Map<string | null, LogFinding['places']>();
  for (const place of finding.places) zones.set(place.zone, [...(zones.get(place.zone) ?? []), place]);
  const places = [...zones].map(([zone, own]) => {
    const name = zone === null ? 'every zone' : `zone ${zone}`;
    const ranges = own.flatMap(({ layerFrom, layerTo }) =>
      layerFrom === null || layerTo === null ? [] : [{ from: layerFrom, to: layerTo }],
    );
    return ranges.length < own.length ? name : `${name}, ${layersText(ranges)}`;
  });
  const told = places.slice(0, MOST_TOLD);
  if (places.length > told.length) told.push(`${places.length - told.length} more zones`);
  const steps = finding.steps.filter((step) => step !== '');
  return [told.join('; ') || 'the whole build', steps.length > 0 ? `during ${steps.join(', ')}` : '']
    .filter(Boolean)
    .join(', ');
}

/** `layers 3 to 4 and 8`; `layer 8`; of many stretches `40 layers from 3 to 98`. */
export function layersText(ranges: readonly LayerRange[]): string {
  if (ranges.length > MOST_TOLD) {
    const layers = ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);
    return `${layers} layers from ${ranges[0]!.from} to ${ranges.at(-1)!.to}`;
  }
  const isOne = ranges.length === 1 && ranges[0]!.from === ranges[0]!.to;
  const parts = ranges.map(({ from, to }) => (from === to ? String(from) : `${from} to ${to}`));
  return `${isOne ? 'layer' : 'layers'} ${parts.join(' and ')}`;
}

/** What a finding says, in words, from its facts. */
export function findingText(finding: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts'>): string {
  const { rule, channel, facts, ucum } = finding;
  if (rule === 'set value not as in the recipe') {
    return `set value of ${channel} is ${facts.worst} ${ucum} and not ${facts.limit} ${ucum} as in the recipe`;
  }
  const what = facts.what === undefined ? '' : `: ${facts.what}`;
  const worst = facts.worst === undefined || facts.worst === null ? '' : ` to ${facts.worst} ${ucum ?? ''}`.trimEnd();
  const limit = facts.limit === undefined || facts.limit === null ? '' : ` (${finding.level} level ${facts.limit})`;
  const times = typeof facts.occurrences === 'number' ? `, ${facts.occurrences} times` : '';
  const duration = typeof facts.durationMs === 'number' ? `, for ${secondsText(facts.durationMs)}` : '';
  const longest =
    typeof facts.longestMs === 'number' ? ` in all, at most ${secondsText(facts.longestMs)} at a time` : '';
  return `${rule}${channel ? ` of ${channel}` : ''}${what}${worst}${limit}${times}${duration}${longest}`;
}

const secondsText = (ms: number): string => `${Number((ms / 1000).toPrecision(6))} s`;

/** What touches coupons and no implant acts through the coupons, on those for whom they stand. */
const isOfCouponsAlone = ({ implants, coupons }: Coverage): boolean => implants.length === 0 && coupons.length > 0;

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
    const coverage = coverageOf(facts, finding);
    const ofCoupons = isOfCouponsAlone(coverage);
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
      units: ofCoupons
        ? [...new Set(coverage.coupons.flatMap((coupon) => unitsOfSpecimen(facts, coupon)))]
        : [...coverage.implants],
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
