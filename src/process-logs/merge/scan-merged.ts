import { BadInputError, type Problem } from '../../base/errors.js';
import { digestOf } from '../../dossier/canonical.js';
import type { LogFacts } from '../../dossier/schema.js';
import { behindLastLine, betweenElements } from '../archive/member-cutter.js';
import type { BuildReport, BuildScan, LogSource } from '../build-report.js';
import { channelFacts, type ScannedChannel } from '../channels.js';
import { FindingList } from '../findings.js';
import { KnownPlaces } from '../known-places.js';
import { LoggerSource } from '../logger/logger-source.js';
import { recordingsAmong } from '../mtconnect/recordings.js';
import { streamChannels } from '../mtconnect/stream-channels.js';
import { StreamSource } from '../mtconnect/stream-source.js';
import { checkPlan, type ScanPlan } from '../plan.js';
import { noUsableRow } from '../rejection.js';
import { RowAccount } from '../row-account.js';
import type { OnProgress } from '../scan-stream.js';
import { SCANNER } from '../scanner.js';
import { gzipProblem } from '../text-source.js';
import { readTimestampUs, timestampText } from '../timestamp.js';
import { CsvSource } from './csv-source.js';
import { LogFile } from './log-file.js';
import { MergedRows, type SourceTotals } from './merged-rows.js';
import { Notes } from './notes.js';
import type { RowSource } from './row-source.js';

/** The machine tells its state before it works: what it said this long before the closure is a row already. */
const BEFORE_CLOSURE_US = 60_000_000;

/** What is read as one: a file, or the files of a recording in its order. */
interface OpenSource {
  readonly files: readonly OpenFile[];
  readonly source: RowSource;
}

interface OpenFile {
  readonly from: LogSource;
  readonly file: LogFile;
}

/**
 * Scans the files of one build together, merged by time, in this thread. Also for a single file that is no CSV.
 * @throws BadInputError naming what is wrong with one of the files as a whole.
 */
export async function scanMerged(
  { plan, sources }: BuildScan,
  onProgress?: OnProgress,
  signal?: AbortSignal,
): Promise<BuildReport> {
  checkPlan(plan);
  const notes = new Notes(sources.length === 1);
  const files: OpenFile[] = [];
  const opened: OpenSource[] = [];
  try {
    for (const from of sources) files.push({ from, file: await openFile(from, signal) });
    for (const places of await recordingsAmong(sources)) {
      const own = places.map((at) => files[at]!);
      opened.push({ files: own, source: sourceOf(own, plan, notes) });
    }
    for (const one of opened) await toFirstRow(one, notes);
    const channels = joinChannels(opened);
    const findings = new FindingList();
    const account = new RowAccount({ ...plan, clockOffsetMs: 0 }, channels, files[0]!.from.fileName, findings);
    notes.begin(account);
    const merged = new MergedRows(
      opened.map((one) => ({ source: one.source, holdsUs: Math.round(one.files[0]!.from.gapLimitMs * 1000) })),
      channels,
      account,
      new KnownPlaces(plan.expected),
      (rejection) => notes.count(rejection),
    );
    const sum = (of: (file: LogFile) => number) => files.reduce((total, { file }) => total + of(file), 0);
    const totalBytes = sum((file) => file.totalBytes);
    const totals = await merged.run(() => {
      onProgress?.({ rows: account.rows, doneBytes: sum((file) => file.doneBytes), totalBytes });
    });
    return await asReport(plan, opened, files, totals, account, findings, notes);
  } catch (error) {
    for (const { file } of files) await file.abandon();
    const names = sources.map(({ fileName }) => fileName).join(', ');
    const problem = gzipProblem(error, names, notes.account?.rows ?? 0);
    throw problem === undefined ? error : new BadInputError([problem]);
  } finally {
    for (const { source } of opened) source.close?.();
  }
}

async function openFile(from: LogSource, signal?: AbortSignal): Promise<LogFile> {
  if (from.map === null) return LogFile.open(from, 'csv', behindLastLine, signal);
  if (from.map.source === 'CSV logger') return LogFile.open(from, 'lines', behindLastLine, signal);
  return LogFile.open(from, 'mtconnect', betweenElements, signal);
}

function sourceOf(files: readonly OpenFile[], plan: ScanPlan, notes: Notes): RowSource {
  const { from, file } = files[0]!;
  const { map, channels, clockOffsetMs } = from;
  if (map === null) return new CsvSource(file, channels, clockOffsetMs, notes);
  const streamed = streamChannels(map, channels, from.fileName);
  if (map.source === 'CSV logger') {
    const [offsetUs, gapUs] = [Math.round(clockOffsetMs * 1000), Math.round(from.gapLimitMs * 1000)];
    return new LoggerSource(file, map, streamed, offsetUs, gapUs, notes);
  }
  const closedUs = plan.closure === null ? undefined : readTimestampUs(plan.closure.closedAt);
  return new StreamSource(
    files.map((one) => one.file),
    {
      map,
      channels: streamed,
      clockOffsetMs,
      notBeforeUs: closedUs === undefined ? Number.NEGATIVE_INFINITY : closedUs - BEFORE_CLOSURE_US,
      known: new KnownPlaces(plan.expected),
      beside: from.archive,
    },
    notes,
  );
}

/** @throws BadInputError when a file has no row, or one with which nothing can be begun. */
async function toFirstRow({ source }: OpenSource, notes: Notes): Promise<void> {
  while (!source.advance()) {
    if (await source.fill()) continue;
    const first = notes.rejections.listed.find(({ file }) => file === source.fileName);
    throw new BadInputError([noUsableRow(source.fileName, first)]);
  }
}

/** Every channel of every file once. @throws BadInputError when two files speak of one channel in different units. */
function joinChannels(opened: readonly OpenSource[]): ScannedChannel[] {
  const joined = new Map<string, { channel: ScannedChannel; fileName: string }>();
  const problems: Problem[] = [];
  for (const { source } of opened) {
    for (const channel of source.channels) {
      const first = joined.get(channel.name);
      if (first === undefined) joined.set(channel.name, { channel, fileName: source.fileName });
      else if (first.channel.ucum !== channel.ucum) {
        problems.push({
          code: 'log-unit',
          file: source.fileName,
          field: channel.name,
          found: channel.ucum,
          expected: `${first.channel.ucum}, as in ${first.fileName}, since no window of the recipe sets one unit`,
          remedy: 'give the two channels different names, or export them in one unit',
        });
      }
    }
  }
  if (problems.length > 0) throw new BadInputError(problems);
  return [...joined.values()].map(({ channel }) => channel);
}

async function asReport(
  plan: ScanPlan,
  opened: readonly OpenSource[],
  files: readonly OpenFile[],
  totals: ReadonlyMap<string, SourceTotals>,
  account: RowAccount,
  findings: FindingList,
  notes: Notes,
): Promise<BuildReport> {
  const rows = account.finish()!;
  const { channels } = account;
  const listed = findings.finish(plan.build, channels);
  const received: Awaited<ReturnType<LogFile['finish']>>[] = [];
  for (const { file } of files) received.push(await file.finish());
  const planSha256 = digestOf({
    plan,
    files: files.map(({ from: { map, channels: planned, clockOffsetMs, gapLimitMs } }, index) => ({
      ...{ map, channels: planned, clockOffsetMs, gapLimitMs },
      sha256: received[index]!.sha256,
    })),
  });
  const facts = files.map(({ from }, index): LogFacts => {
    const { source } = opened.find((one) => one.files.some((file) => file.from === from))!;
    const own = totals.get(from.fileName);
    // What was told long before the closure is no row, and tells the state of the machine all the same.
    if (!own && source.told?.has(from.fileName) !== true) throw new BadInputError([nothingNew(from.fileName)]);
    return {
      build: plan.build,
      fileName: from.fileName,
      ...received[index]!,
      rows: own?.rows ?? 0,
      rejectedRows: notes.rejectedIn(from.fileName),
      firstAt: own ? timestampText(own.firstUs) : null,
      lastAt: own ? timestampText(own.lastUs) : null,
      scanner: SCANNER,
      planSha256,
      clockOffsetMs: from.clockOffsetMs,
      channels: source.channels.map((channel) => channelFacts(channel, source.channels)),
      ...(files.length > 1 ? { mergedWith: received.map(({ sha256 }) => sha256) } : {}),
    };
  });
  return {
    files: facts,
    part: {
      build: plan.build,
      findings: listed,
      outlines: [...rows.outlines],
      gaps: listed
        .filter((finding) => finding.rule === 'gap')
        .map((finding) => ({ startedAt: finding.startedAt!, endedAt: finding.endedAt! })),
      steps: [...rows.steps],
    },
    summaries: rows.stretches.flatMap((stretch) => stretch.summary(plan.build, channels)),
    rows: account.rows,
    rejections: notes.rejections.listed,
    rejectionsByCode: notes.rejections.byCode(),
  };
}

/** A file of a recording of which every observation stands in those before it, or that has none. */
const nothingNew = (file: string): Problem => ({
  code: 'log-repeated',
  file,
  found: 'no observation that is not in another file of the recording',
  expected: 'files that go on where the ones before them end',
  remedy: 'name each file of the recording once',
});
