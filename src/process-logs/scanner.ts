import { BadInputError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { CARRIAGE_RETURN, LINE_FEED, textOf } from './bytes.js';
import { channelFacts, settleUnits } from './channels.js';
import { FindingList } from './findings.js';
import { isUnitRow, readHeader, readUnitRow } from './header.js';
import { LineSplitter, LONGEST_LINE } from './line-splitter.js';
import { checkPlan, type ScanPlan } from './plan.js';
import { emptyFile, noUsableRow, quote, type Refusal, type Rejection, Rejections } from './rejection.js';
import type { LogRow } from './row.js';
import { RowAccount } from './row-account.js';
import { RowReader } from './row-reader.js';
import type { TextScan } from './text-scan.js';
import { timestampText } from './timestamp.js';

/** Name and version of what this folder finds in a log. It changes with every change of a result. */
export const SCANNER = 'lotwright log scanner 6';

const UNIT_ROW_LINE = 2;

/**
 * Reads a log once, in chunks of any size, and says what is in it. Memory does not grow with the log, only with the
 * number of layers, zones and steps. No files, no clock: the result is a function of the bytes and the plan.
 *
 * A sample holds until the next one. Beyond the gap limit only the nominal period counts. Of two rows with one
 * timestamp the earlier has no weight. A row whose time goes back is rejected.
 */
export class LogScanner {
  private readonly splitter: LineSplitter;
  private readonly rejections = new Rejections();
  private readonly findings = new FindingList();
  /** For each column behind the first four, its channel; null before the header. */
  private order: Int32Array | null = null;
  /** Null until header and unit row are read. */
  private reader: RowReader | null = null;
  /** Null until the units are settled. */
  private account: RowAccount | null = null;
  private lineCount = 0;
  private blankLines = 0;

  /**
   * @param fileName only for messages.
   * @throws BadInputError when the plan cannot be.
   */
  constructor(
    private readonly plan: ScanPlan,
    private readonly fileName: string,
  ) {
    checkPlan(plan);
    this.splitter = new LineSplitter(this);
  }

  /** Rows accepted so far, for progress. */
  get rows(): number {
    return this.account?.rows ?? 0;
  }

  /** True time of the last row accepted, microseconds since 1970; NaN before the first. */
  get latestUs(): number {
    return this.account?.latestUs ?? Number.NaN;
  }

  /** Lines read so far. */
  get linesRead(): number {
    return this.lineCount;
  }

  /** @throws BadInputError when header, unit row, units or the number of places cannot be. */
  push(chunk: Uint8Array): void {
    this.splitter.push(chunk);
  }

  /** @throws BadInputError when the file is empty or no row of it could be used. */
  end(): TextScan {
    this.splitter.end();
    if (this.lineCount === 0) throw new BadInputError([emptyFile(this.fileName)]);
    const { account, plan } = this;
    const totals = account?.finish();
    if (!account || !totals) throw new BadInputError([noUsableRow(this.fileName, this.rejections.listed[0])]);
    const { channels } = account;
    const findings = this.findings.finish(plan.build, channels);
    return {
      planSha256: digestOf(plan),
      lines: this.lineCount,
      rows: account.rows,
      rejectedRows: this.rejections.total,
      blankLines: this.blankLines,
      firstAt: timestampText(totals.firstUs),
      lastAt: timestampText(totals.lastUs),
      part: {
        build: plan.build,
        findings,
        outlines: [...totals.outlines],
        steps: [...totals.steps],
        gaps: findings
          .filter((finding) => finding.rule === 'gap')
          .map((finding) => ({ startedAt: finding.startedAt!, endedAt: finding.endedAt! })),
      },
      summaries: totals.stretches.flatMap((stretch) => stretch.summary(plan.build, channels)),
      rejections: this.rejections.listed,
      rejectionsByCode: this.rejections.byCode(),
      channels: totals.counts,
      channelFacts: channels.map((channel) => channelFacts(channel, channels)),
    };
  }

  /** Called by the splitter. */
  lines(bytes: Uint8Array, start: number, end: number): void {
    for (let at = start; at < end; ) {
      const { reader } = this;
      const behind = reader === null ? -1 : reader.readUsual(bytes, at);
      if (behind >= 0) {
        this.lineCount += 1;
        this.accept(this.account!, reader!);
        at = behind;
      } else {
        const lineEnd = bytes.indexOf(LINE_FEED, at);
        this.line(bytes, at, lineEnd);
        at = lineEnd + 1;
      }
    }
  }

  private line(bytes: Uint8Array, start: number, lineEnd: number): void {
    if (lineEnd - start > LONGEST_LINE) {
      this.tooLongLine();
      return;
    }
    this.lineCount += 1;
    const end = lineEnd > start && bytes[lineEnd - 1] === CARRIAGE_RETURN ? lineEnd - 1 : lineEnd;
    if (this.order === null) {
      this.order = readHeader(bytes.subarray(start, end), this.plan.channels, this.fileName);
      return;
    }
    if (this.lineCount === UNIT_ROW_LINE && isUnitRow(bytes, start, end)) {
      this.settle(readUnitRow(bytes.subarray(start, end), this.order, this.fileName));
      return;
    }
    const account = this.begun();
    this.reader ??= new RowReader(account.channels, this.order);
    const { reader } = this;
    if (end === start) this.blankLines += 1;
    else if (reader.readAny(bytes, start, end)) this.accept(account, reader);
    else this.reject(reader.refusal!);
  }

  /** Called by the splitter. */
  tooLongLine(): void {
    this.lineCount += 1;
    this.reject({ code: 'line too long', field: '', found: '' });
  }

  /** Called by the splitter. A row that may have been cut is never used: `21.37` cut to `21.3` still looks right. */
  unfinishedLine(bytes: Uint8Array): void {
    this.lineCount += 1;
    if (this.order === null) {
      this.order = readHeader(bytes, this.plan.channels, this.fileName);
      return;
    }
    const found = quote(textOf(bytes, 0, bytes.length));
    this.reject({ code: 'unfinished line', field: '', found });
  }

  /** @param unitRow null when the log has none: then every unit must be known already. */
  private settle(unitRow: readonly string[] | null): RowAccount {
    const { plan, fileName } = this;
    const line = unitRow === null ? 1 : UNIT_ROW_LINE;
    const channels = settleUnits(plan.channels, unitRow, { file: fileName, line });
    this.account = new RowAccount(plan, channels, fileName, this.findings);
    return this.account;
  }

  private begun(): RowAccount {
    return this.account ?? this.settle(null);
  }

  private accept(account: RowAccount, row: LogRow): void {
    const refused = account.accept(row, this.lineCount);
    if (refused !== undefined) this.rejections.add(refused, this.fileName);
  }

  private reject(refusal: Refusal): void {
    const rejection: Rejection = { line: this.lineCount, ...refusal };
    // A first line that is too long is no header either.
    this.order ??= readHeader(new Uint8Array(0), this.plan.channels, this.fileName);
    this.rejections.add(rejection, this.fileName);
    this.begun().skip(rejection);
  }
}
