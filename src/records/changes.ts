import type { Assessment } from '../assessment/assessment.js';
import { type Compared, type Difference, differencesBetween } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { RecordChange } from '../report/record-change.js';
import { carriedFor, isShown } from './one-case.js';
import { decisionOf } from './signatures.js';

/** What a record showed: its facts, what the program said of them, and what was signed on them. */
export interface Shown {
  /** Undefined where they cannot be compared any more. */
  readonly facts: Facts | undefined;
  readonly assessment: Pick<Assessment, 'units' | 'version'>;
  readonly signatures: readonly SignedStatement[];
}

/**
 * What a new revision says otherwise than the one that it supersedes, the gravest first.
 * @param forCase the case for whose institution both are, which hears nothing of other implants; null for whole records.
 */
export function changesBetween(
  before: Shown,
  after: Shown & { readonly facts: Facts },
  forCase: string | null,
): RecordChange[] {
  // An implant may have left the lot since.
  const implants = [before, after].flatMap(({ facts }) => facts?.lot.body.implants ?? []);
  const shown = isShown({ implants }, forCase);
  const tells = ({ specimens }: Difference) => specimens.length === 0 || specimens.some(shown);
  const compared = (facts: Facts): Compared => {
    const { dossier, results, history } = facts;
    return { dossier, results, history, ...carriedFor(facts, forCase) };
  };
  const [was, is] = [before.assessment.version, after.assessment.version];
  return [
    ...verdictChanges(before, after).filter(({ serial }) => shown(serial)),
    ...decisionChanges(before, after).filter(({ serial }) => shown(serial)),
    ...(before.facts ? differencesBetween(compared(before.facts), compared(after.facts)) : [])
      .filter(tells)
      .map(({ what }): RecordChange => ({ code: 'fact', what })),
    ...newStatements(before, after),
    ...(was === is ? [] : [{ code: 'rules' as const, before: was, after: is }]),
  ];
}

type OnUnit = Extract<RecordChange, { code: 'verdict' }>;
type Decided = Extract<RecordChange, { code: 'decision' }>;

function verdictChanges(before: Shown, after: Shown): OnUnit[] {
  const known = new Map(before.assessment.units.map((unit) => [unit.serial, unit.verdict]));
  const now = after.assessment.units.flatMap(({ serial, verdict }): OnUnit[] => {
    const old = known.get(serial) ?? null;
    return old === verdict ? [] : [{ code: 'verdict', serial, before: old, after: verdict }];
  });
  const gone = before.assessment.units
    .filter(({ serial }) => !after.assessment.units.some((unit) => unit.serial === serial))
    .map(({ serial, verdict }): OnUnit => ({ code: 'verdict', serial, before: verdict, after: null }));
  return [...now, ...gone];
}

function decisionChanges(before: Shown, after: Shown): Decided[] {
  const decided = ({ signatures }: Shown, serial: string) => {
    const statement = decisionOf({ enclosure: { signatures: [...signatures], states: [] } }, serial)?.statement;
    return statement ? { meaning: statement.meaning, step: statement.step } : null;
  };
  return after.assessment.units.flatMap(({ serial }): Decided[] => {
    const [old, now] = [decided(before, serial), decided(after, serial)];
    const isSame = old?.meaning === now?.meaning && old?.step === now?.step;
    return isSame ? [] : [{ code: 'decision', serial, before: old, after: now }];
  });
}

/** Statements on the lot itself; those on its facts are told among the facts. */
function newStatements(before: Shown, after: Shown): RecordChange[] {
  const known = new Set(before.signatures.map(({ digest }) => digest));
  return after.signatures
    .filter(({ digest }) => !known.has(digest))
    .map(({ statement }): RecordChange => ({ code: 'signed', statement }));
}
