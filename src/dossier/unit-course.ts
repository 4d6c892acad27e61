import { RELEASE_STEPS, type ReleaseStep } from './release-step.js';
import type { Statement } from './statement.js';

/** What people decided on one implant: the last thing that happened. */
export type UnitDecision = 'released' | 'rejected' | 'revoked' | 'open';

/** How an implant stands after what people decided so far, each release for one step of its route. */
export interface UnitCourse<S extends { readonly statement: Statement }> {
  readonly decision: UnitDecision;
  /** Releases that stand, in the order of their steps. A rejection ends all of them. */
  readonly releases: readonly S[];
  /** The statement that decided last; of a revoked release the one that was revoked. */
  readonly decided: S | null;
}

export const NOT_DECIDED = { decision: 'open', releases: [], decided: null } as const;

const stepOf = ({ statement }: { readonly statement: Statement }): ReleaseStep => statement.step!;
const isBefore = (step: ReleaseStep, other: ReleaseStep): boolean =>
  RELEASE_STEPS.indexOf(step) < RELEASE_STEPS.indexOf(other);

/** After a release or a rejection. Any other statement decides nothing. */
export function afterStatement<S extends { readonly statement: Statement }>(
  course: UnitCourse<S>,
  signed: S,
): UnitCourse<S> {
  const { meaning } = signed.statement;
  if (meaning === 'rejected') return { decision: 'rejected', releases: [], decided: signed };
  if (meaning !== 'released') return course;
  const before = course.releases.filter((one) => isBefore(stepOf(one), stepOf(signed)));
  return { decision: 'released', releases: [...before, signed], decided: signed };
}

/** After the release for a step was revoked: those for later steps fall with it, those for earlier ones stand. */
export function afterRevocation<S extends { readonly statement: Statement }>(
  course: UnitCourse<S>,
  step: ReleaseStep,
): UnitCourse<S> {
  const revoked = course.releases.find((one) => stepOf(one) === step);
  if (!revoked) return course;
  const releases = course.releases.filter((one) => isBefore(stepOf(one), step));
  return { decision: 'revoked', releases, decided: revoked };
}

/** Steps for which an implant is released as it stands. */
export const stepsReleased = <S extends { readonly statement: Statement }>({
  releases,
}: Pick<UnitCourse<S>, 'releases'>): ReleaseStep[] => releases.map(stepOf);
