import { AppError } from '../base/errors.js';
import { firstClosedAt } from '../kinds/build-chain.js';
import type { Baseline } from '../kinds/design-history/baseline.js';
import { approvalStanding } from './approval-standing.js';
import type { Facts, Recorded } from './facts.js';

/** A revision of a baseline, and what people did with it; moments are ISO texts. */
export interface BaselineCourse {
  readonly recordedAt: string;
  readonly approvedAt: string | null;
  readonly withdrawnAt: string | null;
}

const isBy = (moment: string | null, at: string): boolean => moment !== null && Date.parse(moment) <= Date.parse(at);

/** Whether a baseline was on record and approved at a moment, and not withdrawn by then. What came later changes nothing of it. */
export const stoodAt = ({ recordedAt, approvedAt, withdrawnAt }: BaselineCourse, at: string): boolean =>
  isBy(recordedAt, at) && isBy(approvedAt, at) && !isBy(withdrawnAt, at);

/**
 * The baseline that was in force at a moment: of those that stood then the one that was approved last.
 * @param baselines of one family, in the order in which they were recorded.
 */
export function inForceAt<T extends BaselineCourse>(baselines: readonly T[], at: string): T | undefined {
  const stood = baselines.filter((one) => stoodAt(one, at));
  return stood.sort((a, b) => Date.parse(a.approvedAt!) - Date.parse(b.approvedAt!)).at(-1);
}

/** The baseline of a lot, as its lot file tells it. */
export interface LotBaseline extends Recorded<Baseline> {
  readonly approvedBy: string;
  readonly approvedAt: string;
  /** When it was withdrawn for cause, after the build; null where it was not. */
  readonly withdrawnAt: string | null;
}

/**
 * The baseline that the lot file carries: the one that was in force when the first chamber of the lot was closed. That no
 * other one was approved in between, only the audit trail as a whole can show.
 * @returns undefined where none was in force, or nothing was built.
 * @throws AppError ALTERED where it cannot have been that one.
 */
export function baselineOfLot({ baselines, lot, family, signatures, withdrawn }: Facts): LotBaseline | undefined {
  const [found, ...more] = baselines;
  if (found === undefined) return undefined;
  const name = `baseline ${found.body.name}`;
  const wrong = (why: string) => new AppError('ALTERED', `the lot file carries ${name} ${why}`, { kind: 'baseline' });
  if (more.length > 0) throw wrong(`and ${more.map(({ body }) => body.name).join(', ')}; one at most is in force`);
  if (found.body.family !== family.body.family) throw wrong(`of family ${found.body.family}, of which the lot is not`);
  const builtAt = firstClosedAt(lot.body);
  if (builtAt === undefined) throw wrong('although nothing of the lot was built');
  const statements = signatures.map(({ statement }) => statement);
  const { approvedBy, approvedAt } = approvalStanding(found, statements);
  const end = withdrawn.find(
    ({ kind, key, revision }) =>
      kind === 'baseline' && key === `${found.body.family}:${found.body.name}` && revision === found.revision,
  );
  const withdrawnAt = end?.at ?? null;
  if (approvedBy === null || !stoodAt({ recordedAt: found.recordedAt, approvedAt, withdrawnAt }, builtAt)) {
    throw wrong(`which was not in force at ${builtAt}, when its first chamber was closed`);
  }
  return { ...found, approvedBy, approvedAt: approvedAt!, withdrawnAt };
}
