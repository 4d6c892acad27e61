import { Controller, Get, Header } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import type { LotLine } from '../lots/lot-line.js';
import { LotOverview } from '../lots/lot-overview.js';
import { lotsToAssess } from '../lots/to-assess.js';
import { Actor } from '../people/actor.js';
import { ASSESS_AGAIN, lotAddress } from '../report/page-addresses.js';
import { ASSESS_ALL } from '../report/phrases/assess-all.js';
import { JOBS } from '../report/phrases/jobs.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { TODAY } from '../report/phrases/today.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { type JobRun, Jobs } from '../web/jobs.js';
import { Pages } from '../web/pages.js';

/** So many are listed, and assessed at one go. */
const MOST_AT_ONCE = 100;

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
    const all = await this.waiting();
    return this.pages.render('assess-again', PAGE_TITLES.assessAgain, {
      lots: all
        .slice(0, MOST_AT_ONCE)
        .map((line) => ({ lot: line.lot, to: lotAddress(line.lot), says: this.whyOf(line) })),
      says: ASSESS_ALL.says(all.length, MOST_AT_ONCE),
      action: ASSESS_AGAIN,
    });
  }

  @Access('signed in')
  @FormPost('')
  async assess(): Promise<string> {
    const { name: actor, session } = this.actor;
    const lots = (await this.waiting()).slice(0, MOST_AT_ONCE).map(({ lot }) => lot);
    return this.jobs.beginAndWait({
      key: 'assess again',
      sort: 'assess again',
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

  /** What is kept of many may be what was true before: those that waited are looked at as they are now. */
  private async waiting(): Promise<LotLine[]> {
    const { values } = await this.overview.asking();
    const lots = lotsToAssess(values).map(({ lot }) => lot);
    return lotsToAssess(await this.overview.ofLots(lots)).sort((a, b) => lots.indexOf(a.lot) - lots.indexOf(b.lot));
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
        if (!(error instanceof AppError)) throw error;
        this.failed.set(lot, ASSESS_ALL.notAssessed(error.message));
      }
    }
  }

  private whyOf({ lot, assessed, outOfDate }: LotLine): string {
    const waits = outOfDate ? TODAY.assessAgain : ASSESS_ALL.earlierVersion;
    return [assessed ? waits : TODAY.assess, this.failed.get(lot) ?? []].flat().join('. ');
  }
}
