import { type Assessment, type CheckResult, counts, type UnitResult, type Verdict } from '../assessment/assessment.js';
import { isLifted, unitsOfBuild } from '../assessment/checks/check.js';
import { countOf, logFindingsOf } from '../assessment/log-findings.js';
import { concededIn, nonconformitiesOf } from '../assessment/nonconformities.js';
import { reworksOf, wentThrough } from '../assessment/reworks.js';
import { risksTaken } from '../assessment/risk-builds.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { enteredLate } from '../dossier/tables.js';
import { type NotChecked, notChecked } from './not-checked.js';

type NotPassed = Extract<CheckResult['outcome'], 'fails' | 'cannot be decided'>;
type NotConforming = Exclude<Verdict, 'conforms'>;

/** One thing that a reader must not miss. Rows are places in the results table from 1, units are serials of implants. */
export type Exception =
  | { readonly code: 'check'; readonly check: string; readonly outcome: NotPassed; readonly units: readonly string[] }
  | {
      readonly code: 'values';
      readonly characteristic: string;
      readonly verdict: NotConforming;
      readonly rows: readonly number[];
      /** Planned values that are not there. */
      readonly missing: number;
      readonly units: readonly string[];
    }
  /** What a plan says of values of which each by itself conforms. */
  | {
      readonly code: 'plan';
      readonly characteristic: string;
      readonly verdict: NotConforming;
      readonly units: readonly string[];
    }
  | { readonly code: 'log findings'; readonly level: LogFinding['level']; readonly count: number }
  /** What people decided, so that a check passes. */
  | {
      readonly code: 'decided';
      readonly check: string;
      readonly findings: number;
      readonly units: readonly string[];
    }
  | {
      readonly code: 'signal';
      readonly characteristic: string;
      readonly specimen: string;
      readonly value: number;
      readonly centre: number;
      readonly rule: string;
    }
  | {
      readonly code: 'no-uncertainty';
      readonly rows: readonly number[];
      readonly of: number;
      readonly characteristics: readonly string[];
    }
  | {
      readonly code: RowsCode;
      readonly rows: readonly number[];
    }
  /** Built before its material was accepted: when that was allowed, and when the material was accepted after all. */
  | {
      readonly code: 'at-risk';
      readonly build: string;
      readonly receipt: string;
      readonly decidedAt: string | null;
      readonly acceptedAt: string | null;
      readonly units: readonly string[];
    }
  /** Nonconformities that touch the lot. */
  | { readonly code: 'nonconformities'; readonly keys: readonly string[]; readonly units: readonly string[] }
  /** What may go as it is, by the clause that a nonconformity names. */
  | {
      readonly code: 'concession';
      readonly nonconformity: string;
      readonly clause: string;
      readonly units: readonly string[];
    }
  | {
      readonly code: 'rework';
      /** With its revision. */
      readonly instruction: string;
      readonly nonconformity: string;
      readonly units: readonly string[];
    }
  /** Facts of the build that were entered late. */
  | {
      /** Units that left the lot, or came over from the one in which they were built. */
      readonly code: 'moved';
      readonly left: boolean;
      readonly lot: string;
      readonly move: string;
      readonly units: readonly string[];
    }
  | { readonly code: 'late-facts'; readonly count: number }
  | { readonly code: 'several-for-a-case'; readonly units: readonly string[] }
  | { readonly code: 'open-test'; readonly characteristic: string; readonly units: readonly string[] };

/** Results that a reader looks at by their rows. */
export type RowsCode = 'late' | 'corrected' | 'repeat' | 'replacement' | 'invalid test' | 'reworked' | 'not-judged';

/**
 * The first page of a lot as facts and codes: what a reviewer and a releaser see above their signature, and what page 1 of
 * the record draws. It follows from the lot file and its assessment alone, so that it can be made again offline.
 */
export interface LotSummary {
  readonly format: 1;
  readonly lot: string;
  /** Of the rules that assessed. */
  readonly version: string;
  readonly units: readonly Pick<UnitResult, 'serial' | 'verdict' | 'releasable' | 'releasableFor' | 'gates'>[];
  /** The most serious first; empty only when every check that applies passes and every value conforms. */
  readonly exceptions: readonly Exception[];
  /** What this version asks of no lot. */
  readonly notChecked: readonly NotChecked[];
}

export function summaryOf(facts: Facts, assessment: Assessment): LotSummary {
  return {
    format: 1,
    lot: facts.lot.body.lot,
    version: assessment.version,
    units: assessment.units.map(({ serial, verdict, releasable, releasableFor, gates }) => ({
      serial,
      verdict,
      releasable,
      releasableFor,
      gates,
    })),
    exceptions: [
      ...checksNotPassed(assessment),
      ...valuesNotConforming(assessment),
      ...plansNotKept(assessment),
      ...logFindings(facts),
      ...decidedFindings(assessment),
      ...atRisk(facts),
      ...nonconformities(facts),
      ...reworks(facts),
      ...moves(facts),
      ...signals(assessment),
      ...resultRows(facts, assessment),
      ...lateFacts(facts),
      ...severalForACase(facts),
      ...openTests(assessment),
    ],
    notChecked: notChecked(facts),
  };
}

const once = <T>(items: Iterable<T>): T[] => [...new Set(items)];

function moves({ moves: all, lot }: Facts): Exception[] {
  return [...all.values()].map(({ body }) => {
    const left = body.fromLot === lot.body.lot;
    const units = body.implants ?? [];
    return { code: 'moved', left, lot: left ? body.toLot : body.fromLot, move: body.move, units };
  });
}

function checksNotPassed({ checks }: Assessment): Exception[] {
  const failing = checks.flatMap(({ code: check, outcome, findings }): Exception[] => {
    if (outcome !== 'fails' && outcome !== 'cannot be decided') return [];
    const units = once(findings.filter((finding) => !isLifted(finding)).flatMap((finding) => finding.units));
    return [{ code: 'check', check, outcome, units }];
  });
  const fails = (one: Exception) => Number(one.code === 'check' && one.outcome === 'fails');
  return failing.sort((a, b) => fails(b) - fails(a));
}

/** A value of a coupon is judged for each implant that it speaks for, and told once. What is due after release is told as open. */
function valuesNotConforming({ characteristics }: Assessment): Exception[] {
  const groups = new Map<string, { rows: Set<number>; missing: Set<string>; units: Set<string> } & Named>();
  for (const { characteristic, unit, values, openUntil } of characteristics) {
    for (const value of values) {
      const { verdict, row, specimen, piece, replicate } = value;
      if (verdict === 'conforms' || !counts(value) || (row === null && openUntil !== null)) continue;
      const key = `${characteristic}\n${verdict}`;
      const group = groups.get(key) ?? {
        characteristic,
        verdict,
        rows: new Set(),
        missing: new Set(),
        units: new Set(),
      };
      groups.set(key, group);
      if (row === null) group.missing.add([specimen, piece, replicate].join('\n'));
      else group.rows.add(row);
      group.units.add(unit);
    }
  }
  return [...groups.values()].map(({ characteristic, verdict, rows, missing, units }) => ({
    code: 'values',
    characteristic,
    verdict,
    rows: [...rows].sort((a, b) => a - b),
    missing: missing.size,
    units: [...units],
  }));
}

interface Named {
  readonly characteristic: string;
  readonly verdict: NotConforming;
}

function plansNotKept({ characteristics }: Assessment): Exception[] {
  const groups = new Map<string, Named & { units: string[] }>();
  for (const { characteristic, unit, verdict, values, openUntil } of characteristics) {
    const told = values.some((value) => value.verdict === verdict);
    if (verdict === 'conforms' || openUntil !== null || told) continue;
    const key = `${characteristic}\n${verdict}`;
    groups.set(key, { characteristic, verdict, units: [...(groups.get(key)?.units ?? []), unit] });
  }
  return [...groups.values()].map((group) => ({ code: 'plan', ...group }));
}

function logFindings(facts: Facts): Exception[] {
  const found = logFindingsOf(facts);
  return (['reject', 'action', 'alert'] as const).flatMap((level): Exception[] => {
    const count = countOf(found.filter((finding) => finding.level === level));
    return count === 0 ? [] : [{ code: 'log findings', level, count }];
  });
}

function decidedFindings({ checks }: Assessment): Exception[] {
  return checks.flatMap(({ code: check, findings }): Exception[] => {
    const decided = findings.filter(({ decision }) => decision === 'accepted');
    if (decided.length === 0) return [];
    return [{ code: 'decided', check, findings: decided.length, units: once(decided.flatMap(({ units }) => units)) }];
  });
}

const atRisk = (facts: Facts): Exception[] =>
  risksTaken(facts).map(({ build, receipt, decidedAt = null, acceptedAt = null }) => ({
    ...{ code: 'at-risk', build: build.build, receipt, decidedAt, acceptedAt },
    units: unitsOfBuild(facts, build.build),
  }));

function nonconformities(facts: Facts): Exception[] {
  const found = nonconformitiesOf(facts);
  if (found.length === 0) return [];
  return [
    {
      code: 'nonconformities',
      keys: found.map(({ document }) => document.key),
      units: once(found.flatMap(({ units }) => units)),
    },
    ...found.flatMap((one): Exception[] => {
      const conceded = concededIn(one);
      return once(conceded.map(({ clause }) => clause)).map((clause) => ({
        code: 'concession',
        nonconformity: one.document.key,
        clause,
        units: conceded.filter((item) => item.clause === clause).map(({ unit }) => unit),
      }));
    }),
  ];
}

function reworks(facts: Facts): Exception[] {
  const found = reworksOf(facts);
  return once(found.map(({ by }) => by)).flatMap((by): Exception[] => {
    const own = found.filter((rework) => rework.by === by);
    const isReworked = (serial: string) => own.some(({ step }) => wentThrough(step, serial));
    const units = facts.lot.body.implants.map(({ serial }) => serial).filter(isReworked);
    const nonconformity = own[0]!.instruction?.nonconformity ?? '';
    return units.length === 0 ? [] : [{ code: 'rework', instruction: by, nonconformity, units }];
  });
}

/** No version so far records what came of a signal: each is without an outcome. */
function signals({ capability }: Assessment): Exception[] {
  return capability.flatMap(({ characteristic, chart, points }) =>
    (chart?.signals ?? []).map(({ index, rule }): Exception => {
      const { specimen, value } = points[index - 1]!;
      return { code: 'signal', characteristic, specimen, value, centre: chart!.centre, rule };
    }),
  );
}

function resultRows({ results }: Facts, { characteristics }: Assessment): Exception[] {
  const roles = new Map<number, string>();
  for (const { values } of characteristics) {
    for (const { row, role } of values) if (row !== null) roles.set(row, role);
  }
  const rows = results.map((row, index) => ({ row, number: index + 1 }));
  const current = rows.filter(({ row }) => row.status === 'current');
  const withRole = (role: string) => [...roles].filter(([, is]) => is === role).map(([row]) => row);
  const numbers = (some: typeof rows) => some.map(({ number }) => number);
  const unsure = current.filter(({ row }) => row.standardUncertainty === '');
  const of: readonly (readonly [(Exception & { rows: unknown })['code'], readonly number[]])[] = [
    ['corrected', numbers(rows.filter(({ row }) => row.status === 'corrected'))],
    ['late', numbers(rows.filter(({ row }) => enteredLate(row)))],
    ['repeat', withRole('repeat')],
    ['replacement', withRole('replacement')],
    ['invalid test', withRole('invalid test')],
    ['reworked', withRole('reworked')],
    ['not-judged', numbers(current.filter(({ number }) => !roles.has(number)))],
  ];
  return [
    ...(unsure.length === 0
      ? []
      : [
          {
            code: 'no-uncertainty',
            rows: numbers(unsure),
            of: current.length,
            characteristics: once(unsure.map(({ row }) => row.characteristic)),
          } as const,
        ]),
    ...of.flatMap(([code, found]) =>
      found.length === 0 ? [] : [{ code, rows: [...found].sort((a, b) => a - b) } as Exception],
    ),
  ];
}

const lateFacts = ({ lateFacts: { length } }: Facts): Exception[] =>
  length === 0 ? [] : [{ code: 'late-facts', count: length }];

function severalForACase({ lot }: Facts): Exception[] {
  const { implants } = lot.body;
  const several = implants.filter((implant) =>
    implants.some((other) => other !== implant && other.case === implant.case),
  );
  return several.length === 0 ? [] : [{ code: 'several-for-a-case', units: several.map(({ serial }) => serial) }];
}

function openTests({ units }: Assessment): Exception[] {
  const open = new Map<string, string[]>();
  for (const { serial, open: tests } of units) {
    for (const { characteristic } of tests) open.set(characteristic, [...(open.get(characteristic) ?? []), serial]);
  }
  return [...open].map(([characteristic, serials]) => ({ code: 'open-test', characteristic, units: serials }));
}
