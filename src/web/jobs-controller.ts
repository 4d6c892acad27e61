import { Controller, Get, Header, Param, Res } from '@nestjs/common';
import type { Response } from 'express';
import { AppError, BadInputError, problemText } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { capital } from '../report/phrases/capital.js';
import { JOBS } from '../report/phrases/jobs.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access, NoCases } from './access.js';
import { PagePost } from './forms.js';
import { HTML } from './html.js';
import { problemOf } from './http-problem.js';
import { currentSession } from './identity.js';
import { NAMED } from './input.js';
import { type Job, Jobs } from './jobs.js';
import { Pages } from './pages.js';

/** Work that takes long: how far each is, whose it is, and its end. */
@Controller('jobs')
export class JobsController {
  constructor(
    private readonly pages: Pages,
    private readonly jobs: Jobs,
  ) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  list(): string {
    return this.pages.render('jobs', PAGE_TITLES.jobs, { jobs: this.jobs.open().map((job) => this.view(job)) });
  }

  /** Leads on to the result once there is one. */
  @Access('signed in')
  @NoCases()
  @Get(':job')
  @Header(...HTML)
  show(@Param('job', NAMED) id: string, @Res({ passthrough: true }) response: Response): string {
    const job = this.jobs.of(id);
    if (job.state === 'done' && (isOwn(job) || !job.wanted.isPrivate)) {
      response.status(303).location(job.to!);
      return '';
    }
    return this.pages.render('job', PAGE_TITLES.job(job.wanted.title), { job: this.view(job) });
  }

  @Access('signed in')
  @PagePost(':job/cancel')
  cancel(@Param('job', NAMED) id: string): string {
    return this.jobs.cancel(id, currentSession()?.person ?? '').address;
  }

  private view(job: Job) {
    const { wanted, state, done, total, isOpen, address } = job;
    const leftS = isOpen ? this.jobs.leftS(job) : undefined;
    return {
      title: wanted.title,
      address,
      cancelAt: `${address}/cancel`,
      begun: JOBS.begun(wanted.starter.name, wanted.starter.person, timeText(job.askedAt.toISOString())),
      says: { ...JOBS.states, ...(wanted.isInParts ? JOBS.inParts : {}) }[state],
      isOpen,
      isOwn: isOwn(job),
      back: wanted.back,
      percent: total > 0 ? Math.min(100, Math.floor((100 * done) / total)) : null,
      left: leftS === undefined ? null : JOBS.left(leftS),
      why: state === 'failed' ? whyOf(job.error) : [],
    };
  }
}

const isOwn = ({ wanted }: Job): boolean => wanted.starter.person === currentSession()?.person;

/** An error that nobody foresaw tells people nothing, and its text may say what they should not read. */
function whyOf(error: unknown): string[] {
  if (error instanceof BadInputError) return error.problems.map(problemText);
  return [capital(error instanceof AppError ? error.message : problemOf(error, '').detail)];
}
