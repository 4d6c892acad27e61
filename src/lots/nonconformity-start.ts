import { Injectable } from '@nestjs/common';
import type { CheckFinding } from '../assessment/assessment.js';
import { coverageOf } from '../assessment/coverage.js';
import { implantsActedOn, logFindingsOf } from '../assessment/log-findings.js';
import { NotFoundError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import { Nonconformity, type NonconformitySort } from '../kinds/nonconformity.js';
import { findingWords } from '../report/assessment-words.js';
import { type Aspect, aspectOf } from '../report/lot-matrix.js';
import { findingText } from '../report/phrases/log-finding.js';
import { Store } from '../store/store.js';
import { CurrentAssessments } from './current-assessments.js';
import type { AssessedLot } from './lot-assessor.js';

/** What a nonconformity says before people complete it. */
export type NonconformityStart = Pick<
  Nonconformity,
  'kind' | 'format' | 'nonconformity' | 'opened' | 'sort' | 'says' | 'from' | 'findings' | 'touches'
>;

type Found = Pick<CheckFinding, 'id' | 'subjects' | 'units'> & {
  readonly says: string;
  readonly sort: NonconformitySort;
};

/** Nonconformities begun from what was found of a lot: whoever opens one types nothing that is on record already. */
@Injectable()
export class NonconformityStarts {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  /**
   * @param digits of the findings of release checks, or of the log findings under them: the first twelve or more of each.
   * @throws NotFoundError for a lot or a finding that is not there as the lot stands now.
   */
  async of(lot: string, digits: readonly string[], by: string): Promise<NonconformityStart> {
    const assessed = await this.current.of(lot);
    const all = assessed ? [...foundByChecks(assessed), ...foundInLogs(assessed)] : [];
    const found = digits.map((one) => {
      const own = all.find((finding) => isNamed(finding, one));
      if (own === undefined) throw new NotFoundError(`finding of lot ${lot}`, one);
      return own;
    });
    return {
      kind: 'nonconformity',
      format: 1,
      nonconformity: await this.freeCode(lot),
      opened: { by, at: this.store.clock.now().toISOString() },
      ...saidOf(assessed!.facts, [...new Set(found)]),
    };
  }

  /** The first number of the lot that no nonconformity has. */
  private async freeCode(lot: string): Promise<string> {
    const taken = new Set((await this.store.read.entries.list('nonconformity')).map(({ key }) => key));
    let number = 1;
    while (taken.has(`NC-${lot}-${number}`)) number += 1;
    return `NC-${lot}-${number}`;
  }
}

const foundByChecks = ({ assessment }: AssessedLot): Found[] =>
  assessment.checks.flatMap(({ code, findings }) =>
    findings.map((finding) => ({ ...finding, says: findingWords(code, finding).says, sort: sortOf(code) })),
  );

const SORTS: Readonly<Record<Aspect, NonconformitySort>> = {
  identity: 'identity or design',
  metal: 'material',
  recipe: 'recipe or settings',
  log: 'process log',
  coupons: 'coupon',
  tests: 'test',
  papers: 'document or person',
  finish: 'cleaning or finish',
  load: 'load',
  label: 'label',
};

const sortOf = (check: string): NonconformitySort => (check === 'acceptance' ? 'value' : SORTS[aspectOf(check)]);

/** What people accepted stands in no check any more, and may be opened all the same. */
const foundInLogs = ({ facts }: AssessedLot): Found[] =>
  logFindingsOf(facts).map((finding) => ({
    id: finding.id,
    subjects: [{ kind: 'log finding', key: finding.id }],
    units: implantsActedOn(facts, finding),
    says: findingText(finding),
    sort: 'process log',
  }));

/** What is about something else may name a log finding beside it. */
const isNamed = ({ id, subjects: [first] }: Found, digits: string): boolean =>
  id.startsWith(digits) || (first !== undefined && IS_LOG_FINDING.has(first.kind) && first.key.startsWith(digits));

const IS_LOG_FINDING: ReadonlySet<string> = new Set(['log finding', 'log finding group']);

type Touched = NonconformityStart['touches'][number];
type From = NonNullable<NonconformityStart['from']>[number];

function saidOf(
  facts: Facts,
  found: readonly Found[],
): Pick<NonconformityStart, 'sort' | 'says' | 'from' | 'findings' | 'touches'> {
  const says = [...new Set(found.map((one) => one.says))].join(' ');
  const subjects = found.flatMap((one) => one.subjects);
  const logged = logFindingsOf(facts).filter(({ id }) => subjects.some(({ key }) => key === id));
  const coupons = logged.flatMap((finding) => coverageOf(facts, finding).coupons);
  const touches = [
    ...found.flatMap(({ units }) => units.map((key) => ({ kind: 'implant', key }))),
    ...coupons.map((key) => ({ kind: 'coupon', key })),
    ...subjects,
  ].filter(isTouched);
  const from = [...logged.map(({ build }) => ({ kind: 'build', key: build })), ...subjects].filter(isFrom);
  const sorts = new Set(found.map(({ sort }) => sort));
  return {
    ...(sorts.size === 1 ? { sort: [...sorts][0]! } : {}),
    says,
    findings: found.map(({ id }) => id),
    touches: each(touches),
    ...(from.length > 0 ? { from: each(from) } : {}),
  };
}

const [TOUCHED, FROM] = [kindsOf(Nonconformity.shape.touches), kindsOf(Nonconformity.shape.from.unwrap())];

function kindsOf({ element }: { element: { shape: { kind: { options: readonly string[] } } } }): ReadonlySet<string> {
  return new Set(element.shape.kind.options);
}

const isTouched = (one: { kind: string; key: string }): one is Touched => TOUCHED.has(one.kind);
const isFrom = (one: { kind: string; key: string }): one is From => FROM.has(one.kind);

const each = <T extends { kind: string; key: string }>(things: readonly T[]): T[] => [
  ...new Map(things.map(({ kind, key, ...rest }) => [`${kind} ${key}`, { kind, key, ...rest } as T])).values(),
];
