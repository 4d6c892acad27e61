import { Injectable } from '@nestjs/common';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { type ChangeStanding, changeStanding } from '../design-history/change-state.js';
import { lineName, touchedSha256 } from '../design-history/change-touches.js';
import type { DesignRevision } from '../design-history/design-facts.js';
import { Intake, type IntakeOptions } from '../intake/intake.js';
import type { DesignChange, TouchedLine } from '../kinds/design-history/design-change.js';
import { CHANGE_FORM, CHANGE_LINES, CHANGE_STATE_WORDS } from '../report/phrases/design-changes.js';
import { Store } from '../store/store.js';
import { DesignAnswers } from './design-answers.js';
import { DesignFiles } from './design-files.js';
import { type Touched, touchedBy } from './touched.js';

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
    private readonly answers: DesignAnswers,
    private readonly intake: Intake,
  ) {}

  /** As of now. @throws NotFoundError without such a family or change. */
  async of(family: string, change: string): Promise<TouchedNow> {
    const { read } = this.store;
    const entries = await read.ledger.size();
    const { found, lines } = await this.answers.ask('touched', { family, change });
    return {
      ...{ family, change, revision: found.revision, lines: [...lines], sha256: touchedSha256(lines) },
      asOf: { entries, root: await read.ledger.root(entries) },
    };
  }

  /** The change as it stands, with its list as it was frozen and what it would list now. @throws NotFoundError as `of`. */
  async shown(family: string, change: string): Promise<ChangeShown> {
    const touched = await this.answers.ask('touched', { family, change });
    return { found: touched.found, standing: changeStanding(touched.found), came: cameSince(touched) };
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
    const asked = { family, change: seen.change };
    const demandNothingCame = (touched: Touched) => {
      const came = cameSince(touched);
      if (came.length > 0) throw new AppError('REFUSED', CHANGE_LINES.cameSince(seen.change, came.map(lineName)));
    };
    if (decision === 'go') demandNothingCame(await this.answers.ask('touched', asked));
    await this.takeNext(body, { decision }, actor, async (change) => {
      // Looked at once more where nobody else writes, if anybody wrote since; and here, where it waits for no other question.
      if (decision !== 'go' || change.ledger.sizeNow() === looked) return;
      demandNothingCame(await touchedBy(this.store.read, await this.designs.of(family), seen.change));
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
}

/** What a change touches now and its frozen list does not have. */
function cameSince({ found, lines }: Touched): TouchedLine[] {
  const { touches } = found.body;
  const nameOf = ({ sort, key }: TouchedLine) => `${sort} ${key}`;
  const frozen = new Set(touches?.lines.map(nameOf));
  return touches === undefined ? [] : lines.filter((line) => !frozen.has(nameOf(line)));
}
