import { Injectable } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { changeTouches, type TouchedLot, touchedSha256 } from '../design-history/change-touches.js';
import { DesignIndex } from '../design-history/design-index.js';
import { Intake } from '../intake/intake.js';
import { isAway } from '../kinds/after-release/places.js';
import type { DesignChange } from '../kinds/design-history/design-change.js';
import type { Lot } from '../kinds/lot.js';
import { placesOfImplantsIn } from '../lots/unit-places.js';
import { CHANGE_LINES } from '../report/phrases/design-changes.js';
import { currentLot } from '../store/lots-now.js';
import { Store } from '../store/store.js';
import { DesignFiles } from './design-files.js';

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
    const answers = new Map(
      body.touches?.lines.map(({ sort, key, says, answer }) => [`${sort} ${key} ${says}`, answer]),
    );
    const lines = touches.lines.map((line) => {
      const answer = answers.get(`${line.sort} ${line.key} ${line.says}`);
      return answer === undefined ? line : { ...line, answer };
    });
    const { approval: ___, ...rest } = body;
    const document = { ...rest, revision: revision + 1, touches: { ...touches, lines } };
    await this.intake.take([{ file: 'design-change.yaml', document }], actor);
    return { family, change, revision: revision + 1, ...touches, lines };
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
