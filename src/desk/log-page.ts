import { NotFoundError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFacts } from '../dossier/schema.js';
import { timeText } from '../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../dossier/unit-text.js';
import { logsOf } from '../kinds/log-files.js';
import type { Build } from '../kinds/lot.js';
import { figureView } from '../report/figure-view.js';
import { findingLines, mostSevere } from '../report/finding-lines.js';
import { buildFigure, channelFigure, layerFigure, plottedChannels } from '../report/log-figures.js';
import { LOG_PAGE, SCAN_STATES } from '../report/phrases/log-page.js';
import type { ScanJob } from '../store/scan-job-rows.js';

export interface LogQuestion {
  /** One channel; those of the chamber and those with an excursion when absent. */
  readonly channel?: string | undefined;
  readonly by: 'time' | 'layer';
}

/** Raw rows are shown ten minutes at a time. */
export const ROWS_SPAN_MS = 10 * 60_000;
/** A row shortly before a finding shows what it began from. */
const BEFORE_FINDING_MS = 10_000;

export function buildOf(facts: Facts, build: string): Build {
  const found = facts.lot.body.builds.find((item) => item.build === build);
  if (!found) throw new NotFoundError('build', build);
  return found;
}

/** Everything that the page of a build's log shows. */
export function logPage(facts: Facts, code: string, question: LogQuestion, jobs: readonly ScanJob[]) {
  const build = buildOf(facts, code);
  const files = facts.dossier.logs.filter((log) => log.build === code);
  const part = facts.logParts.get(code);
  const known = part?.outlines.map(({ channel }) => channel) ?? [];
  if (question.channel !== undefined && !known.includes(question.channel)) {
    throw new NotFoundError(`channel of build ${code}`, question.channel);
  }
  const shown = question.channel === undefined ? plottedChannels(facts, build) : [question.channel];
  const whole = buildFigure(facts, build);
  return {
    lot: facts.lot.body.lot,
    build,
    asOf: timeText(facts.dossier.asOf.at),
    closed: timeText(build.closedAt),
    opened: timeText(build.openedAt),
    continues: build.continues ?? null,
    files: files.map((file) => fileView(file, build)),
    whole: whole ? figureView(whole, LOG_PAGE.wholeBuild(code), `build-${code}`) : null,
    channels: known.map((channel) => ({ channel, isShown: channel === question.channel })),
    channel: question.channel ?? null,
    by: question.by,
    figures: shown.flatMap((channel) => {
      const figure =
        question.by === 'layer' ? layerFigure(facts, build, channel) : channelFigure(facts, build, channel);
      const label = LOG_PAGE.channelIn(channel, code, question.by);
      return figure ? [figureView(figure, label, `log-${code}-${channel}-${question.by}`)] : [];
    }),
    ...findingsView(facts, code),
    gaps: (part?.gaps ?? []).length,
    firstRowsFrom: files[0]?.firstAt ?? null,
    jobs: jobs.map(jobView),
    running: jobs.some((job) => job.endedAt === null),
  };
}

function fileView(file: LogFacts, build: Build) {
  const named = logsOf(build).find(({ log }) => log.file === file.fileName)?.log;
  return {
    ...file,
    first: timeText(file.firstAt ?? LOG_PAGE.noTime),
    last: timeText(file.lastAt ?? LOG_PAGE.noTime),
    readBy: named?.map === undefined ? LOG_PAGE.csv : LOG_PAGE.stream(named.map.map, named.map.revision),
    units: (file.channels ?? []).map(({ channel, ucum, loggedUcum }) =>
      ucum === loggedUcum
        ? `${channel}${spacedUnit(ucum)}`
        : LOG_PAGE.convertedUnit(channel, tradeUnit(loggedUcum), tradeUnit(ucum)),
    ),
  };
}

function findingsView(facts: Facts, build: string) {
  const { lines, others } = mostSevere(findingLines(facts).filter((line) => line.build === build));
  return { findings: lines.map((line) => ({ ...line, rowsFrom: rowsFrom(line) })), otherFindings: others };
}

/** From when on raw rows show a finding; null when it has no time. */
function rowsFrom({ startedAt }: { readonly startedAt: string | null }): string | null {
  return startedAt === null ? null : new Date(Date.parse(startedAt) - BEFORE_FINDING_MS).toISOString();
}

function jobView(job: ScanJob) {
  const percent = job.totalBytes > 0 ? Math.min(100, Math.floor((100 * job.doneBytes) / job.totalBytes)) : 0;
  return {
    ...job,
    isOpen: job.endedAt === null,
    percent,
    says: SCAN_STATES[job.state] ?? job.state,
    started: timeText(job.startedAt),
    ended: job.endedAt === null ? null : timeText(job.endedAt),
  };
}
