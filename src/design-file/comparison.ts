import { NotFoundError } from '../base/errors.js';
import { asMembers, baselinesOf, compareMembers, type Member, membersOf } from '../design-history/baselines.js';
import type { DesignFacts } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { bodyChanges } from '../report/trail-changes.js';

/** A document that both sides have, in other revisions, and what it says otherwise. */
export interface MemberRevised {
  readonly before: Member;
  readonly after: Member;
  readonly changes: readonly { readonly what: string; readonly before: string | null; readonly after: string | null }[];
}

export interface Comparison {
  readonly family: string;
  /** Names of baselines; null for the design as it stood at the moment that was asked for. */
  readonly from: string;
  readonly to: string | null;
  readonly asOf: string;
  readonly added: readonly Member[];
  readonly removed: readonly Member[];
  readonly revised: readonly MemberRevised[];
  readonly same: number;
}

/**
 * What differs between a baseline and another one, or the design as it stood at the moment of the facts.
 * @throws NotFoundError without such a baseline.
 */
export function comparisonOf(facts: DesignFacts, from: string, to?: string): Comparison {
  const design = new DesignIndex(facts);
  const frozen = (name: string): readonly Member[] => {
    const found = baselinesOf(design).find(({ body }) => body.name === name);
    if (found === undefined) throw new NotFoundError('baseline', `${facts.family}:${name}`);
    return found.body.members;
  };
  const after = to === undefined ? asMembers(membersOf(design)) : frozen(to);
  const { added, removed, revised, same } = compareMembers(frozen(from), after);
  const bodyOf = (member: Member) => design.revision(member)?.body;
  return {
    ...{ family: facts.family, from, to: to ?? null, asOf: facts.today, added, removed, same },
    revised: revised.map((pair) => ({
      ...pair,
      changes: bodyChanges(bodyOf(pair.before), bodyOf(pair.after)).filter(({ what }) => what !== 'revision'),
    })),
  };
}
