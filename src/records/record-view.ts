import type { Assessment, UnitResult } from '../assessment/assessment.js';
import { coverageOf } from '../assessment/coverage.js';
import { decisionOn } from '../assessment/finding-decisions.js';
import { countOf, logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import { enteredLate } from '../dossier/tables.js';
import { timeText } from '../dossier/time-text.js';
import { checkTitle } from '../report/assessment-words.js';
import { findingText, whereText } from '../report/phrases/log-finding-text.js';
import type { RecordTemplate } from '../report/record-template.js';
import type { Enclosure } from './enclosure.js';

/** Everything a record shows: the facts, what the program says of them, and what surrounds both. */
export interface RecordView {
  readonly facts: Facts;
  readonly assessment: Assessment;
  readonly enclosure: Enclosure;
  readonly enclosureSha256: string;
  /** Order, titles and words. */
  readonly template: RecordTemplate;
}

/** The implants of cases that this copy may show: all of them, but for a copy that leaves for one institution. */
export function shownUnits({ facts, assessment, enclosure }: Omit<RecordView, 'template'>): UnitResult[] {
  const { forCase } = enclosure;
  return assessment.units.filter(
    ({ serial }) =>
      forCase === null || facts.lot.body.implants.some((item) => item.serial === serial && item.case === forCase),
  );
}

export const PART_NOTE = 'Each zone and layer by itself: attached log-summaries.csv.';
/** Result rows by number, from 1, as the results table and the links to it count them. */
export const resultAnchor = (row: number): string => `result ${row}`;
/** Where a result row is judged first. */
export const verdictAnchor = (row: number): string => `verdict ${row}`;
export const signatureAnchor = (digest: string): string => `statement ${digest.slice(0, 12)}`;
export const evidenceAnchor = (sha256: string): string => `evidence ${sha256.slice(0, 12)}`;
export const findingAnchor = (id: string): string => `finding ${id.slice(0, 12)}`;
export const short = (digest: string): string => digest.slice(0, 12);

/** One kind of exception of page 1: how many, and the anchor of where they stand. */
export interface ExceptionCount {
  readonly what: string;
  readonly count: number;
  readonly anchor: string;
}

/** The exceptions that this version can know, in the order of page 1. */
export function exceptionsOf({
  facts,
  assessment,
}: Pick<RecordView, 'facts'> & { readonly assessment?: Assessment | undefined }): ExceptionCount[] {
  const findings = logFindingsOf(facts);
  const level = (name: string) => countOf(findings.filter((finding) => finding.level === name));
  return [
    { what: 'log findings at reject level', count: level('reject'), anchor: 'log findings' },
    { what: 'log findings at action level', count: level('action'), anchor: 'log findings' },
    { what: 'log findings noted as alert', count: level('alert'), anchor: 'log findings' },
    {
      what: 'corrected results',
      count: facts.results.filter((row) => row.status === 'corrected').length,
      anchor: 'corrections',
    },
    { what: 'results entered late', count: facts.results.filter(enteredLate).length, anchor: 'corrections' },
    ...(assessment ? exceptionsOfAssessment(facts, assessment) : []),
  ];
}

/** Repeats, concessions and open tests are known only to the assessment. */
function exceptionsOfAssessment(facts: Facts, { characteristics, units }: Assessment): ExceptionCount[] {
  const rows = new Map(
    characteristics.flatMap(({ values }) =>
      values.map((value) => [`${value.specimen} ${value.row}`, value.role] as const),
    ),
  );
  const count = (...roles: string[]) => [...rows.values()].filter((role) => roles.includes(role)).length;
  const conceded = units.flatMap(({ why }) => why).filter((reason) => reason.conceded).length;
  const open = units.reduce((sum, unit) => sum + unit.open.length, 0);
  const cases = facts.lot.body.implants.map((implant) => implant.case);
  const several = new Set(cases.filter((code, index) => cases.indexOf(code) !== index)).size;
  return [
    { what: 'cases with more than one implant', count: several, anchor: 'section release' },
    { what: 'repeated or replaced tests', count: count('repeat', 'replacement'), anchor: 'section inspection' },
    { what: 'invalid tests', count: count('invalid test'), anchor: 'section inspection' },
    { what: 'concessions', count: conceded, anchor: 'section release' },
    { what: 'tests open after release', count: open, anchor: 'open tests' },
  ];
}

/**
 * What is said of an implant against which nothing stands. Page 1 may not call every check conforming while one of them
 * fails further inside, even when it fails for another implant.
 */
export function nothingAgainst({ checks }: Assessment, { verdict, open }: UnitResult): string {
  if (verdict !== 'conforms') return 'Its values do not let it conform.';
  const failing = checks.filter(({ outcome }) => outcome === 'fails' || outcome === 'cannot be decided');
  if (failing.length > 0) {
    return `Nothing stands against it; against other implants: ${failing.map(({ code }) => checkTitle(code)).join('; ')}.`;
  }
  return open.length === 0
    ? 'Every planned value and check conforms.'
    : 'Every check and every planned value that is due by now conforms.';
}

/** So many log findings are told one by one in a table that people read; the others are counted, and attached. */
export const MOST_FINDING_LINES = 200;

const SEVERITY = ['reject', 'action', 'alert'];

/** The most severe of many lines, in their order, and how many findings the others stand for. */
export function mostSevere(lines: readonly FindingLine[]): {
  readonly lines: readonly FindingLine[];
  readonly others: number;
} {
  if (lines.length <= MOST_FINDING_LINES) return { lines, others: 0 };
  const bySeverity = [...lines].sort((a, b) => SEVERITY.indexOf(a.level) - SEVERITY.indexOf(b.level));
  const told = new Set(bySeverity.slice(0, MOST_FINDING_LINES));
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
    return {
      id: finding.id,
      build: finding.build,
      members: finding.members.length,
      level: finding.level,
      says: `${finding.members.length > 1 ? `${finding.members.length} findings alike: ` : ''}${findingText(finding)}`,
      where: whereText(finding),
      startedAt: finding.startedAt,
      from: timeText(finding.startedAt ?? ''),
      to: timeText(finding.endedAt ?? ''),
      implants,
      coupons,
      decided: decision
        ? decision.statements
            .map(
              ({ outcome, person, at, reason }) =>
                `${outcome} by ${person.name} (${person.role}) at ${timeText(at)}: ${reason ?? ''}`,
            )
            .join('; ')
        : finding.level === 'alert'
          ? 'needs no decision'
          : 'not decided',
    };
  });
}
