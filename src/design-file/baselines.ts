import { Injectable } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import {
  asMembers,
  baselinesOf,
  compareMembers,
  draftsAmong,
  type Member,
  membersOf,
} from '../design-history/baselines.js';
import { DesignIndex } from '../design-history/design-index.js';
import { Intake } from '../intake/intake.js';
import type { Baseline } from '../kinds/design-history/baseline.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { bodyChanges } from '../report/trail-changes.js';
import { Store } from '../store/store.js';
import { type AsOf, nowAsOf } from './as-of.js';
import { DesignFiles } from './design-files.js';

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

/** Freezes designs, and compares what was frozen. */
@Injectable()
export class Baselines {
  constructor(
    private readonly store: Store,
    private readonly designs: DesignFiles,
    private readonly intake: Intake,
  ) {}

  /**
   * Takes a baseline in of what the design consisted of at a moment. People sign it like any document.
   * @param name of it within the family.
   * @throws NotFoundError without such a family; AppError REFUSED while something in it is a draft, where nothing is in it,
   *   and for a name that another baseline has.
   */
  async freeze(family: string, name: string, actor: string, asked?: AsOf): Promise<Baseline> {
    const asOf = asked ?? (await nowAsOf(this.store));
    const design = new DesignIndex(await this.designs.of(family, asOf));
    const found = membersOf(design);
    if (!design.hasHistory) throw new AppError('REFUSED', BASELINE_LINES.nothing(family, asOf.day));
    const drafts = draftsAmong(found);
    if (drafts.length > 0) throw new AppError('REFUSED', BASELINE_LINES.drafts(drafts));
    if ((await this.store.read.entries.current('baseline', `${family}:${name}`)) !== undefined) {
      throw new AppError('REFUSED', BASELINE_LINES.taken(family, name));
    }
    const document: Baseline = {
      ...{ kind: 'baseline', format: 1, family, name, members: asMembers(found) },
      asOf: { entries: asOf.size, root: await this.store.read.ledger.root(asOf.size) },
    };
    await this.intake.take([{ file: 'baseline.yaml', document }], actor);
    return document;
  }

  /**
   * What differs between a baseline and another one, or the design as it stood at a moment.
   * @throws NotFoundError without such a family or baseline.
   */
  async compare(family: string, from: string, to?: string, asOf?: AsOf): Promise<Comparison> {
    const facts = await this.designs.of(family, asOf);
    const design = new DesignIndex(facts);
    const frozen = (name: string): readonly Member[] => {
      const found = baselinesOf(design).find(({ body }) => body.name === name);
      if (found === undefined) throw new NotFoundError('baseline', `${family}:${name}`);
      return found.body.members;
    };
    const after = to === undefined ? asMembers(membersOf(design)) : frozen(to);
    const { added, removed, revised, same } = compareMembers(frozen(from), after);
    const bodyOf = (member: Member) => design.revision(member)?.body;
    return {
      ...{ family, from, to: to ?? null, asOf: facts.today, added, removed, same },
      revised: revised.map((pair) => ({
        ...pair,
        changes: bodyChanges(bodyOf(pair.before), bodyOf(pair.after)).filter(({ what }) => what !== 'revision'),
      })),
    };
  }
}
