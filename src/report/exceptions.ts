import type { Assessment, UnitResult } from '../assessment/assessment.js';
import { countOf, logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import { enteredLate } from '../dossier/tables.js';
import { checkTitle } from './assessment-words.js';

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
