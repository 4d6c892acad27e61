import { touchedSha256 } from './change-touches.js';
import type { DesignRevision } from './design-facts.js';

/** How far a change has come, in the order in which it gets there; a stopped one goes no further. */
export const CHANGE_STATES = [
  'not listed',
  'list altered',
  'lines open',
  'to be decided',
  'to be approved',
  'closed',
  'stopped',
] as const;
export type ChangeState = (typeof CHANGE_STATES)[number];

/** Where a change stands, and how many of its lines have an answer. */
export interface ChangeStanding {
  readonly state: ChangeState;
  readonly lines: number;
  readonly answered: number;
}

/** A change is closed once its list is as it was frozen, each line of it has an answer, and quality approved the decision. */
export function changeStanding({
  body: { touches, decision },
  approvedBy,
}: Pick<DesignRevision<'design-change'>, 'body' | 'approvedBy'>): ChangeStanding {
  const lines = touches?.lines ?? [];
  const answered = lines.filter(({ answer }) => answer !== undefined).length;
  const state = (): ChangeState => {
    if (decision === 'stop') return 'stopped';
    if (touches === undefined) return 'not listed';
    if (touches.sha256 !== touchedSha256(lines)) return 'list altered';
    if (answered < lines.length) return 'lines open';
    if (decision === 'open') return 'to be decided';
    return approvedBy === null ? 'to be approved' : 'closed';
  };
  return { state: state(), lines: lines.length, answered };
}
