import { coverageOf } from '../assessment/coverage.js';
import { decisionOn } from '../assessment/finding-decisions.js';
import { logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import { timeText } from '../dossier/time-text.js';
import { FINDING_LINE } from './phrases/finding-lines.js';
import { findingText, whereText } from './phrases/log-finding.js';
import { signedText } from './phrases/signatures.js';

/** So many log findings are told one by one in a table that people read; the others are counted, and attached. */
export const MOST_FINDING_LINES = 200;

const SEVERITY = ['reject', 'action', 'alert'];

/** The most severe of many lines, in their order, and how many findings the others stand for. */
export function mostSevere(
  lines: readonly FindingLine[],
  most = MOST_FINDING_LINES,
): {
  readonly lines: readonly FindingLine[];
  readonly others: number;
} {
  if (lines.length <= most) return { lines, others: 0 };
  const bySeverity = [...lines].sort((a, b) => SEVERITY.indexOf(a.level) - SEVERITY.indexOf(b.level));
  const told = new Set(bySeverity.slice(0, most));
  const others = lines.filter((line) => !told.has(line)).reduce((sum, { members }) => sum + members, 0);
  return { lines: lines.filter((line) => told.has(line)), others };
}

/** A log finding, or many alike, told in full: what, where, whom it touches, what was decided. */
export interface FindingLine {
  readonly id: string;
  readonly build: string;
  /** How many findings alike it stands for; 1 for one by itself. */
  readonly members: number;
  readonly level: string;
  readonly says: string;
  readonly where: string;
  readonly startedAt: string | null;
  readonly from: string;
  readonly to: string;
  readonly implants: readonly string[];
  readonly coupons: readonly string[];
  readonly decided: string;
}

export function findingLines(facts: Facts): FindingLine[] {
  return logFindingsOf(facts).map((finding) => {
    const { implants, coupons } = coverageOf(facts, finding);
    const decision = decisionOn(facts, finding);
    const members = finding.members.length;
    return {
      id: finding.id,
      build: finding.build,
      members,
      level: finding.level,
      says: members > 1 ? FINDING_LINE.alike(members, findingText(finding)) : findingText(finding),
      where: whereText(finding),
      startedAt: finding.startedAt,
      from: timeText(finding.startedAt ?? ''),
      to: timeText(finding.endedAt ?? ''),
      implants,
      coupons,
      decided: decision
        ? decision.statements
            .map((statement) => FINDING_LINE.decided(signedText(statement), statement.reason))
            .join('; ')
        : finding.level === 'alert'
          ? FINDING_LINE.needsNone
          : FINDING_LINE.open,
    };
  });
}
