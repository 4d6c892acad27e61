import { Controller, Get, Header } from '@nestjs/common';
import { AppError, type ErrorCode } from '../base/errors.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import type { LotLine } from '../lots/lot-line.js';
import { LotOverview } from '../lots/lot-overview.js';
import { lotsToAssess } from '../lots/to-assess.js';
import { Actor } from '../people/actor.js';
import { ASSESS_AGAIN, lotAddress } from '../report/page-addresses.js';
import { ASSESS_ALL } from '../report/phrases/assess-all.js';
import { JOBS } from '../report/phrases/jobs.js';
import { lotsBehindText } from '../report/phrases/lot-state.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { TODAY } from '../report/phrases/today.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { type JobRun, Jobs } from '../web/jobs.js';
import { Pages } from '../web/pages.js';

/** So many are listed, and assessed at one go. */
const MOST_AT_ONCE = 100;
/** What is wrong with one lot alone; anything else is wrong with the folder, and ends the work. */
const OF_ONE_LOT: ReadonlySet<ErrorCode> = new Set(['BAD_INPUT', 'NOT_FOUND', 'REFUSED', 'LATER_FORM']);

/**
 * All lots that wait to be assessed, at one go: a calibration of one instrument touches every lot that was measured with
 * it and is not closed.
 */
@Controller(ASSESS_AGAIN.slice(1))
export class AssessAgainController {
  /** Why lots could not be assessed when somebody tried last. */
  private readonly failed = new Map<string, string>();

  constructor(
    private readonly pages: Pages,
    private readonly overview: LotOverview,
    private readonly assessor: LotAssessor,
    private readonly jobs: Jobs,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async show(): Promise<string> {
    const { lines, all, behind } = await this.waiting();
    return this.pages.render('assess-again', PAGE_TITLES.assessAgain, {
      behind: lotsBehindText(behind),
      lots: lines.map((line) => ({ lot: line.lot, to: lotAddress(line.lot), says: this.whyOf(line) })),
      says: ASSESS_ALL.says(all, MOST_AT_ONCE),
      action: ASSESS_AGAIN,
    });
  }

  @Access('signed in')
  @FormPost('')
  async assess(): Promise<string> {
    const { name: actor, session } = this.actor;
    // What is looked at again just now is waited for: it may wait to be assessed too.
    await this.overview.catchUp(() => false);
    const lots = (await this.waiting()).lines.map(({ lot }) => lot);
    return this.jobs.beginAndWait({
      key: 'assess-again',
      sort: 'assess-again',
      title: JOBS.assessAgain(lots.length),
      starter: session,
      back: ASSESS_AGAIN,
      isInParts: true,
      work: async (run) => {
        await this.oneByOne(lots, actor, run);
        return ASSESS_AGAIN;
      },
    });
  }

  /** The first of those that wait, as they are now; those that could not be assessed when somebody tried come last. */
  private async waiting(): Promise<{ lines: LotLine[]; all: number; behind: number }> {
    const { values, behind } = await this.overview.asking();
    const lots = lotsToAssess(values).map(({ lot }) => lot);
    for (const lot of this.failed.keys()) if (!lots.includes(lot)) this.failed.delete(lot);
    const isFailed = (lot: string) => this.failed.has(lot);
    const first = [...lots.filter((lot) => !isFailed(lot)), ...lots.filter(isFailed)].slice(0, MOST_AT_ONCE);
    const places = new Map(first.map((lot, at) => [lot, at]));
    const lines = lotsToAssess(await this.overview.ofLots(first));
    return {
      lines: lines.sort((a, b) => places.get(a.lot)! - places.get(b.lot)!),
      all: lots.length - (first.length - lines.length),
      behind,
    };
  }

  /** One that cannot be assessed keeps none of the others waiting: the list says why. */
  private async oneByOne(lots: readonly string[], actor: string, { signal, progress }: JobRun): Promise<void> {
    for (const [done, lot] of lots.entries()) {
      signal.throwIfAborted();
      progress(done, lots.length);
      try {
        await this.assessor.freeze(lot, actor);
        this.failed.delete(lot);
      } catch (error) {
        if (!(error instanceof AppError && OF_ONE_LOT.has(error.code))) throw error;
        this.failed.set(lot, ASSESS_ALL.notAssessed(error.message));
      }
    }
  }

  private whyOf({ lot, assessed, outOfDate }: LotLine): string {
    const waits = outOfDate ? TODAY.assessAgain : ASSESS_ALL.earlierVersion;
    return [assessed ? waits : TODAY.assess, this.failed.get(lot) ?? []].flat().join('. ');
  }
}
