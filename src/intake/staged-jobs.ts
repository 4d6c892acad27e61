import { Injectable } from '@nestjs/common';
import { AppError, BadInputError } from '../base/errors.js';
import { JOBS } from '../report/phrases/jobs.js';
import { Store } from '../store/store.js';
import { type JobRun, Jobs } from '../web/jobs.js';
import { Intake, type IntakeOptions } from './intake.js';
import { KeptReports } from './kept-reports.js';
import { demandMayTakeIn, type Sender } from './may-take-in.js';
import type { Checked, StagedFolder } from './staged-folder.js';
import { Staging } from './staging.js';
import { archivesIn } from './uploads.js';

/** Who sends, with the name that others read. */
export interface NamedSender extends Sender {
  readonly name: string;
}

export const stagedAddress = (folder: string): string => `/intake/staged/${folder}`;
export const keptReportAddress = (name: string): string => `/intake/${name}`;

/** Checks what somebody sent, and stores it once they have seen what that is. Both may take long: logs are read. */
@Injectable()
export class StagedJobs {
  constructor(
    private readonly store: Store,
    private readonly intake: Intake,
    private readonly staging: Staging,
    private readonly jobs: Jobs,
    private readonly reports: KeptReports,
  ) {}

  /**
   * Checks the files as they are. What is wrong with them is noted, and no failure.
   * @returns where to go on.
   * @throws AppError REFUSED for who may not take documents in, BUSY when too much waits.
   */
  async check(folder: StagedFolder, sender: NamedSender): Promise<string> {
    await demandMayTakeIn(this.store, sender);
    const to = stagedAddress(folder.name);
    return this.jobs.beginAndWait({
      ...this.common(folder, sender),
      sort: 'check',
      title: JOBS.check,
      work: async (run) => {
        // What comes while it is checked is checked by the next one.
        const { version } = folder;
        folder.noteCheck(await this.checked(folder, sender, run), version);
        return to;
      },
    });
  }

  /**
   * Stores what was shown, and nothing else.
   * @param version of the files that were shown.
   * @throws AppError CONFLICT when files came since; and as `check`.
   */
  async storeShown(folder: StagedFolder, sender: NamedSender, version: number): Promise<string> {
    await demandMayTakeIn(this.store, sender);
    const { checked } = folder;
    if (checked?.report === undefined || checked.version !== version) throw otherFiles();
    const { wouldStore: expected } = checked.report;
    return this.jobs.beginAndWait({
      ...this.common(folder, sender),
      sort: 'store',
      title: JOBS.store,
      work: async (run) => {
        try {
          const report = await this.intake.run(folder.root, sender.actor, { ...this.options(folder, run), expected });
          this.reports.keep(sender.person, report, folder.name);
          this.staging.drop(folder);
          return keptReportAddress(folder.name);
        } catch (error) {
          if (!isOfOthers(error)) throw error;
          folder.noteCheck({ ...(await this.checked(folder, sender, run)), hasMoved: true }, version);
          return stagedAddress(folder.name);
        }
      },
    });
  }

  /** Throws it away, with what is done to it. */
  async drop(folder: StagedFolder): Promise<void> {
    const job = this.jobs.under(keyOf(folder));
    job?.cancel();
    await job?.ended;
    this.staging.drop(folder);
  }

  /** What is done to it now. */
  under(folder: StagedFolder) {
    return this.jobs.under(keyOf(folder));
  }

  private common(folder: StagedFolder, starter: NamedSender) {
    return { key: keyOf(folder), starter, back: stagedAddress(folder.name), isPrivate: true };
  }

  private async checked(folder: StagedFolder, { actor }: Sender, run: JobRun): Promise<Omit<Checked, 'version'>> {
    const at = this.staging.now.toISOString();
    try {
      await folder.unpackOnlyZip();
      const report = await this.intake.run(folder.root, actor, { ...this.options(folder, run), check: true });
      return { at, problems: [], report };
    } catch (error) {
      if (error instanceof BadInputError) return { at, problems: error.problems };
      throw error;
    }
  }

  private options(folder: StagedFolder, { signal, progress }: JobRun): IntakeOptions {
    const done = new Map<string, number>();
    const total = folder.bytes;
    return {
      inOneChange: true,
      passedOver: folder.hidden,
      refuseUnused: archivesIn,
      signal,
      onProgress: (file, { doneBytes }) => {
        done.set(file, doneBytes);
        progress(
          [...done.values()].reduce((sum, bytes) => sum + bytes, 0),
          total,
        );
      },
    };
  }
}

const keyOf = ({ name }: StagedFolder): string => `upload ${name}`;

/** What others stored since the check makes it wrong, or another thing than was shown. */
const isOfOthers = (error: unknown): boolean =>
  error instanceof BadInputError || (error instanceof AppError && error.facts.moved === true);

const otherFiles = () =>
  new AppError(
    'CONFLICT',
    'files came since this was shown, or it is not checked; nothing was stored: look at it again',
  );
