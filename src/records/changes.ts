import type { Assessment } from '../assessment/assessment.js';
import { differencesBetween } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { RecordChange } from '../report/record-change.js';
import { decisionOf } from './signatures.js';

/** What a record showed: its facts, what the program said of them, and what was signed on them. */
export interface Shown {
  /** Undefined where they cannot be compared any more. */
  readonly facts: Facts | undefined;
  readonly assessment: Pick<Assessment, 'units' | 'version'>;
  readonly signatures: readonly SignedStatement[];
}

/** What a new revision says otherwise than the one that it supersedes, the gravest first. */
export function changesBetween(before: Shown, after: Shown & { readonly facts: Facts }): RecordChange[] {
  const [was, is] = [before.assessment.version, after.assessment.version];
  return [
    ...verdictChanges(before, after),
    ...decisionChanges(before, after),
    ...(before.facts ? differencesBetween(before.facts, after.facts) : []).map(
      ({ what }): RecordChange => ({ code: 'fact', what }),
    ),
    ...newStatements(before, after),
    ...(was === is ? [] : [{ code: 'rules' as const, before: was, after: is }]),
  ];
}

function verdictChanges(before: Shown, after: Shown): RecordChange[] {
  const known = new Map(before.assessment.units.map((unit) => [unit.serial, unit.verdict]));
  const now = after.assessment.units.flatMap(({ serial, verdict }): RecordChange[] => {
    const old = known.get(serial) ?? null;
    return old === verdict ? [] : [{ code: 'verdict', serial, before: old, after: verdict }];
  });
  const gone = before.assessment.units
    .filter(({ serial }) => !after.assessment.units.some((unit) => unit.serial === serial))
    .map(({ serial, verdict }): RecordChange => ({ code: 'verdict', serial, before: verdict, after: null }));
  return [...now, ...gone];
}

function decisionChanges(before: Shown, after: Shown): RecordChange[] {
  const decided = ({ signatures }: Shown, serial: string) =>
    decisionOf({ enclosure: { signatures: [...signatures] } }, serial)?.statement.meaning ?? null;
  return after.assessment.units.flatMap(({ serial }): RecordChange[] => {
    const [old, now] = [decided(before, serial), decided(after, serial)];
    return old === now ? [] : [{ code: 'decision', serial, before: old, after: now }];
  });
}

/** Statements on the lot itself; those on its facts are told among the facts. */
function newStatements(before: Shown, after: Shown): RecordChange[] {
  const known = new Set(before.signatures.map(({ digest }) => digest));
  return after.signatures
    .filter(({ digest }) => !known.has(digest))
    .map(({ statement }): RecordChange => ({ code: 'signed', statement }));
}
