import { baselinesOf, compareMembers, membersOf } from './baselines.js';
import type { DesignIndex } from './design-index.js';
import { type Gap, openGaps } from './find-gaps.js';

/** A gap is open, or no baseline that was approved holds what the design consisted of. @param gaps of the design. */
export function isDraft(design: DesignIndex, gaps: readonly Gap[]): boolean {
  const members = membersOf(design);
  const isFrozen = baselinesOf(design).some(({ body, approvedBy }) => {
    const { added, removed, revised } = compareMembers(body.members, members);
    return approvedBy !== null && added.length + removed.length + revised.length === 0;
  });
  return !isFrozen || openGaps(gaps).length > 0;
}
