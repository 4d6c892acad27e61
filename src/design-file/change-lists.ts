import { Injectable } from '@nestjs/common';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { type ChangeStanding, changeStanding } from '../design-history/change-state.js';
import { changeTouches, lineName, type TouchedLot, touchedSha256 } from '../design-history/change-touches.js';
import type { DesignRevision } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { Intake, type IntakeOptions } from '../intake/intake.js';
import { isAway } from '../kinds/after-release/places.js';
import type { DesignChange, TouchedLine } from '../kinds/design-history/design-change.js';
import type { Lot } from '../kinds/lot.js';
import { placesOfImplantsIn } from '../lots/unit-places.js';
import { CHANGE_FORM, CHANGE_LINES, CHANGE_STATE_WORDS } from '../report/phrases/design-changes.js';
import { currentLot } from '../store/lots-now.js';
import { Store } from '../store/store.js';
import { DesignFiles } from './design-files.js';

/** A change in the revision that somebody looked at. */
export type SeenChange = Pick<DesignChange, 'change' | 'revision'>;

export interface ChangeShown {
  readonly found: DesignRevision<'design-change'>;
  readonly standing: ChangeStanding;
  /** What it touches now and its frozen list does not have. */
  readonly came: readonly TouchedLine[];
}

/** What somebody said to a line. */
export interface LineAnswer {
  /** `lineName` of it. */
  readonly line: string;
  readonly answer: string;
}

export type TouchedNow = Pick<DesignChange, 'change' | 'revision' | 'family'> & NonNullable<DesignChange['touches']>;

/** What changes of designs touch, and the list of it that a change carries. */
@Injectable()
export class ChangeLists {
  constructor(
    private readonly store: Store,
    private readonly designs: DesignFiles,
    private readonly intake: Intake,
  ) {}

  /** As of now. @throws NotFoundError without such a family or change. */
  async of(family: string, change: string): Promise<TouchedNow> {
    const { read } = this.store;
    const entries = await read.ledger.size();
    const design = new DesignIndex(await this.designs.of(family));
    const found = design.current('design-change').find(({ key }) => key === change);
    if (found === undefined) throw new NotFoundError('design-change', change);
    const lines = changeTouches(design, found.body, await this.lots(family, found.body), CHANGE_LINES);
    return {
      ...{ family, change, revision: found.revision, lines, sha256: touchedSha256(lines) },
      asOf: { entries, root: await read.ledger.root(entries) },
    };
  }

  /** The change as it stands, with its list as it was frozen and what it would list now. @throws NotFoundError as `of`. */
  async shown(family: string, change: string): Promise<ChangeShown> {
    const facts = await this.designs.of(family);
    const design = new DesignIndex(facts);
    const found = design.current('design-change').find(({ key }) => key === change);
    if (found === undefined) throw new NotFoundError('design-change', change);
    const frozen = found.body.touches?.lines ?? [];
    const now = changeTouches(design, found.body, await this.lots(family, found.body), CHANGE_LINES);
    const isNew = ({ sort, key }: TouchedLine) => !frozen.some((one) => one.sort === sort && one.key === key);
    return { found, standing: changeStanding(found), came: found.body.touches === undefined ? [] : now.filter(isNew) };
  }

  /**
   * Takes the next revision of the change in, with the list as it is now. Answers to lines that stay are kept.
   * @throws NotFoundError as `of`; AppError REFUSED where the change was decided with a list: what was frozen stays.
   */
  async freeze(family: string, change: string, actor: string): Promise<TouchedNow> {
    const { family: _, change: __, revision, ...touches } = await this.of(family, change);
    const { body } = await this.store.read.entries.currentOrThrow('design-change', change);
    if (body.touches !== undefined && body.decision !== 'open') {
      throw new AppError('REFUSED', CHANGE_LINES.decided(change));
    }
    const answers = new Map(body.touches?.lines.map((line) => [lineName(line), line.answer]));
    const lines = touches.lines.map((line) => {
      const answer = answers.get(lineName(line));
      return answer === undefined ? line : { ...line, answer };
    });
    await this.takeNext(body, { touches: { ...touches, lines } }, actor);
    return { family, change, revision: revision + 1, ...touches, lines };
  }

  /**
   * Takes the next revision of the change in, with answers to lines of its frozen list that have none yet.
   * @param answers an empty one leaves its line as it is.
   * @throws NotFoundError without such a change of the family; BadInputError without an answer, and for one to what is no such
   *   line; AppError CONFLICT where the change has another revision than the one that was looked at.
   */
  async answer(family: string, seen: SeenChange, answers: readonly LineAnswer[], actor: string): Promise<void> {
    const body = await this.seen(family, seen);
    const given = new Map(answers.flatMap(({ line, answer }) => (answer.trim() === '' ? [] : [[line, answer.trim()]])));
    if (body.touches === undefined || given.size === 0) {
      throw new BadInputError([{ code: 'missing', field: 'answers', ...CHANGE_FORM.noAnswer }]);
    }
    const lines = body.touches.lines.map((line) => {
      const answer = line.answer === undefined ? given.get(lineName(line)) : undefined;
      if (answer === undefined) return line;
      given.delete(lineName(line));
      return { ...line, answer };
    });
    if (given.size > 0) {
      const problem = { code: 'unknown-line', field: 'answers', ...CHANGE_FORM.noLine };
      throw new BadInputError([...given.keys()].map((found) => ({ ...problem, found })));
    }
    await this.takeNext(body, { touches: { ...body.touches, lines } }, actor);
  }

  /**
   * Takes the next revision of the change in, decided.
   * @throws NotFoundError, AppError CONFLICT as `answer`; AppError REFUSED for one that was decided, and for `go` before each
   *   line of its list has an answer, or while something came since it was frozen.
   */
  async decide(family: string, seen: SeenChange, decision: 'go' | 'stop', actor: string): Promise<void> {
    const body = await this.seen(family, seen);
    if (body.decision !== 'open') throw new AppError('REFUSED', CHANGE_LINES.wasDecided(seen.change));
    const { state } = changeStanding({ body, approvedBy: null });
    if (decision === 'go' && state !== 'to be decided') {
      throw new AppError('REFUSED', CHANGE_LINES.notYet(seen.change, CHANGE_STATE_WORDS[state]));
    }
    const looked = await this.store.read.ledger.size();
    const demandNothingCame = async () => {
      const { came } = await this.shown(family, seen.change);
      if (came.length > 0) throw new AppError('REFUSED', CHANGE_LINES.cameSince(seen.change, came.map(lineName)));
    };
    if (decision === 'go') await demandNothingCame();
    await this.takeNext(body, { decision }, actor, async (change) => {
      // Looked at once more where nobody else writes, if anybody wrote since.
      if (decision === 'go' && change.ledger.sizeNow() !== looked) await demandNothingCame();
    });
  }

  private async seen(family: string, { change, revision }: SeenChange): Promise<DesignChange> {
    const { body, ...current } = await this.store.read.entries.currentOrThrow('design-change', change);
    if (body.family !== family) throw new NotFoundError('design-change', change);
    if (current.revision !== revision) {
      throw new AppError('CONFLICT', CHANGE_LINES.revised(change, current.revision, revision));
    }
    return body;
  }

  /** The approval of a revision goes with it: whoever approves the next one sees what it says. */
  private async takeNext(
    { approval: _, ...body }: DesignChange,
    more: Partial<DesignChange>,
    actor: string,
    demand?: IntakeOptions['demand'],
  ) {
    const document = { ...body, ...more, revision: body.revision + 1 };
    await this.intake.take([{ file: 'design-change.yaml', document }], actor, { demand });
  }

  /** Lots that were made by a revision that the change does away with. */
  private async lots(family: string, { changes }: DesignChange): Promise<TouchedLot[]> {
    const { read } = this.store;
    const found: TouchedLot[] = [];
    for (const { key } of await read.entries.tiedTo('lot', 'family', family, 'of family')) {
      const now = await currentLot(read, key);
      if (!changes.some((changed) => isMadeBy(now, changed))) continue;
      const places = await placesOfImplantsIn(read, now);
      const counts = new Map<string, number>();
      for (const { place, held } of places) {
        const says = CHANGE_LINES.place(place, held);
        counts.set(says, (counts.get(says) ?? 0) + 1);
      }
      const away = places.filter(({ place }) => isAway(place));
      found.push({
        lot: key,
        places: CHANGE_LINES.places([...counts]),
        holders: [...new Set(away.flatMap(({ holder }) => (holder === null ? [] : [holder.institution])))],
      });
    }
    return found.sort((a, b) => (a.lot < b.lot ? -1 : 1));
  }
}

/** By specification and recipe it says so itself; of any other document, whatever was made may rest on it. */
function isMadeBy(lot: Lot, { kind, key, revision }: DesignChange['changes'][number]): boolean {
  const { specification, implants, coupons } = lot;
  if (kind === 'specification') return specification.specification === key && specification.revision === revision;
  if (kind !== 'recipe') return true;
  return [...implants, ...coupons].some(({ recipe }) => recipe.recipe === key && recipe.revision === revision);
}
