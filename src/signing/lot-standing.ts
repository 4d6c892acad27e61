import { Injectable } from '@nestjs/common';
import { unitsOfSpecimen } from '../assessment/specimens.js';
import type { Difference } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import { type Statement, soleSubject } from '../dossier/statement.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { UnitState } from '../lots/unit-states.js';
import { type VerdictChange, verdictChanges } from '../lots/verdict-changes.js';
import { differenceText } from '../report/phrases/differences.js';
import { changedVerdictText } from '../report/phrases/earlier-version.js';
import { lotStateText } from '../report/phrases/lot-state.js';
import { type ReviewLine, reviewLine } from '../report/phrases/review-items.js';
import { Store } from '../store/store.js';
import { ReviewList } from './review-list.js';
import { differencesSince } from './signed-lot-file.js';

/** One unit with what came after its decision. */
export interface UnitStanding extends UnitState {
  /** Facts that came later; they void nothing. */
  readonly sinceDecision: readonly string[];
  /** A value that the decision covered has changed: the unit is under assessment until somebody decides again. */
  readonly underAssessment: readonly string[];
  /** Verdicts that another version of the rules changed; they turn no decision. */
  readonly changedVerdicts: readonly { readonly says: string; readonly seen: VerdictChange['seen'] }[];
}

export interface LotStanding {
  readonly state: string;
  readonly units: readonly UnitStanding[];
  /** Reviews and decisions on the lot file, in the order of signing. */
  readonly statements: readonly Statement[];
  /** Corrections, refused acts and late entries; those after the last review are marked. */
  readonly reviewList: readonly (ReviewLine & { readonly sinceReview: boolean })[];
}

/** How a lot stands by what people signed: an input to pages, never to verdicts. */
@Injectable()
export class LotStandings {
  constructor(
    private readonly store: Store,
    private readonly reviewList: ReviewList,
  ) {}

  /** @param facts the lot as it was frozen last. */
  async of(lot: string, facts: Facts): Promise<LotStanding> {
    const statements = (await this.store.read.signatures.of({ kind: 'lot file', key: lot })).map(
      ({ signed }) => signed.statement,
    );
    const serials = facts.lot.body.implants.map((implant) => implant.serial);
    const states = await unitStatesOf(this.store.read, lot, serials);
    const changes = verdictChanges(await this.store.read.events.of({ kind: 'lot', key: lot }));
    const differences = new Map<string, Difference[]>();
    for (const state of states) {
      const digest = digestOf(state);
      if (digest && !differences.has(digest))
        differences.set(digest, await differencesSince(this.store.read, digest, facts));
    }
    const reviewedAt = statements.findLast(({ meaning }) => meaning === 'reviewed')?.at ?? '';
    return {
      state: lotStateText(states),
      units: states.map((state) => ({
        ...standing(state, differences.get(digestOf(state) ?? '') ?? [], facts),
        changedVerdicts: changes
          .filter(({ serial }) => serial === state.serial)
          .map((change) => ({ says: changedVerdictText(change), seen: change.seen })),
      })),
      statements,
      reviewList: (await this.reviewList.of(facts)).map((item) => ({
        ...reviewLine(item),
        sinceReview: item.at > reviewedAt,
      })),
    };
  }
}

/** The lot file that a unit was decided on. */
const digestOf = ({ statement }: UnitState): string | undefined =>
  statement === null ? undefined : soleSubject(statement).digest;

function standing(
  state: UnitState,
  differences: readonly Difference[],
  facts: Facts,
): Omit<UnitStanding, 'changedVerdicts'> {
  const own = differences.filter(
    ({ specimens }) =>
      specimens.length === 0 || specimens.some((specimen) => unitsOfSpecimen(facts, specimen).includes(state.serial)),
  );
  const of = (kind: Difference['kind']) =>
    own.filter((one) => one.kind === kind).map(({ what }) => differenceText(what));
  const decided = state.decision === 'released' || state.decision === 'rejected';
  return { ...state, sinceDecision: of('later fact'), underAssessment: decided ? of('changed') : [] };
}
