import type { Assessment, UnitResult } from '../assessment/assessment.js';
import { countOf, logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import { enteredLate } from '../dossier/tables.js';
import { checkTitle } from './assessment-words.js';
import { EXCEPTIONS, NOTHING_AGAINST } from './phrases/exceptions.js';

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
}: {
  readonly facts: Facts;
  readonly assessment?: Assessment | undefined;
}): ExceptionCount[] {
  const findings = logFindingsOf(facts);
  const level = (name: string) => countOf(findings.filter((finding) => finding.level === name));
  return [
    { what: EXCEPTIONS.reject, count: level('reject'), anchor: 'log findings' },
    { what: EXCEPTIONS.action, count: level('action'), anchor: 'log findings' },
    { what: EXCEPTIONS.alert, count: level('alert'), anchor: 'log findings' },
    {
      what: EXCEPTIONS.corrected,
      count: facts.results.filter((row) => row.status === 'corrected').length,
      anchor: 'corrections',
    },
    { what: EXCEPTIONS.late, count: facts.results.filter(enteredLate).length, anchor: 'corrections' },
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
    { what: EXCEPTIONS.severalForCase, count: several, anchor: 'section release' },
    { what: EXCEPTIONS.repeated, count: count('repeat', 'replacement'), anchor: 'section inspection' },
    { what: EXCEPTIONS.invalid, count: count('invalid test'), anchor: 'section inspection' },
    { what: EXCEPTIONS.concessions, count: conceded, anchor: 'section release' },
    { what: EXCEPTIONS.openTests, count: open, anchor: 'open tests' },
  ];
}

/**
 * What is said of an implant against which nothing stands. Page 1 may not call every check conforming while one of them
 * fails further inside, even when it fails for another implant.
 */
export function nothingAgainst({ checks }: Assessment, { verdict, open }: UnitResult): string {
  if (verdict !== 'conforms') return NOTHING_AGAINST.doesNotConform;
  const failing = checks.filter(({ outcome }) => outcome === 'fails' || outcome === 'cannot be decided');
  if (failing.length > 0) {
    return NOTHING_AGAINST.others(failing.map(({ code }) => checkTitle(code)));
  }
  return open.length === 0 ? NOTHING_AGAINST.all : NOTHING_AGAINST.allDue;
}
