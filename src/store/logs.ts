import { parseForm } from '../base/later-form.js';
import { canonicalJson } from '../dossier/canonical.js';
import { type LogFacts, LogFinding, LogPart } from '../dossier/schema.js';
import type { SummaryRow } from '../dossier/tables.js';
import type { BuildReport } from '../process-logs/build-report.js';
import type { Db } from './db.js';
import { Events } from './events.js';
import type { Recorder } from './recorder.js';

/** The scan of the log of a build, which may have several files. */
export interface StoredLog {
  /** Of the first file. */
  readonly facts: LogFacts;
  /** Of every file, in the order in which they count. */
  readonly files: readonly LogFacts[];
  /** Of each file the ledger entry of its first scan: a later program may have scanned it again. */
  readonly cameWith: readonly number[];
  readonly part: LogPart;
  readonly ledgerSeq: number;
  readonly id: number;
}

/** The archive of raw rows of a log, by the SHA-256 of its index. */
export interface MadeArchive {
  /** SHA-256 of the log as received. */
  readonly evidence: string;
  readonly sha256: string;
}

/** Machine logs as scanned, with their findings. */
export class Logs<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Whether these bytes were already scanned for this build by this plan. */
  async isScanned(build: string, evidence: string, planSha256: string): Promise<boolean> {
    return (await this.db.ask(this.db.sql.LOG_FILE, build, evidence, planSha256)).length > 0;
  }

  /** Another build than `build` whose log has these bytes, if there is one. */
  async buildOf(sha256: string, build: string): Promise<string | undefined> {
    return (await this.db.ask(this.db.sql.LOG_FILE_ELSEWHERE, sha256, build))[0]?.build;
  }

  /** SHA-256 of the index of the archive that was made last of a log; undefined when none was. */
  async archiveOf(evidence: string): Promise<string | undefined> {
    const events = await new Events(this.db).of({ kind: 'evidence', key: evidence });
    return events.flatMap(({ event }) => (event.type === 'archive-made' ? [event.sha256] : [])).at(-1);
  }

  /** Names the archive of a log, unless it is the one that was named last. */
  async nameArchive(this: Logs<Recorder>, { evidence, sha256 }: MadeArchive): Promise<void> {
    if ((await this.archiveOf(evidence)) === sha256) return;
    await new Events(this.db).add({ type: 'archive-made', evidence, sha256 });
  }

  /** The latest scan of each build of a lot. */
  async ofLot(lot: string): Promise<StoredLog[]> {
    const rows = await this.db.ask(this.db.sql.LOG_FILES_OF, lot);
    const known = rows.map((row) => ({ row, facts: JSON.parse(row.facts) as LogFacts }));
    const latest = new Map(known.map((log) => [log.row.build, log]));
    return [...latest.values()].map(({ row: last, facts: { planSha256, mergedWith = [] } }) => {
      const ofScan = known.filter(
        ({ row, facts }) =>
          row.build === last.build &&
          facts.planSha256 === planSha256 &&
          (row.id === last.id || mergedWith.includes(facts.sha256)),
      );
      const [{ row, facts }] = ofScan as [(typeof ofScan)[number]];
      return {
        id: row.id,
        facts,
        files: ofScan.map((log) => log.facts),
        cameWith: ofScan.map(
          (log) => rows.find(({ build, evidence }) => build === last.build && evidence === log.row.evidence)!.ledgerSeq,
        ),
        part: parseForm(`the scan of ${row.build}`, LogPart, JSON.parse(row.part)),
        ledgerSeq: last.ledgerSeq,
      };
    });
  }

  async summaries(log: StoredLog): Promise<SummaryRow[]> {
    const rows = await this.db.ask(this.db.sql.LOG_SUMMARIES_OF, log.id);
    const text = (value: number | null) => (value === null ? '' : String(value));
    return rows.map((row) => ({
      build: log.facts.build,
      layer: text(row.layer),
      zone: row.zone,
      step: row.step,
      channel: row.channel,
      ucum: row.ucum,
      n: String(row.n),
      min: text(row.min),
      max: text(row.max),
      mean: text(row.mean),
      timeWeightedMean: text(row.timeWeightedMean),
      sd: text(row.sd),
      observedMs: String(row.observedMs),
      outsideMs: String(row.outsideMs),
    }));
  }

  /** How many findings the logs of each build show; a scan of the same log again finds the same ones. */
  async countsByBuild(builds: readonly string[]): Promise<ReadonlyMap<string, number>> {
    const rows = await this.db.ask(this.db.sql.FINDINGS_BY_BUILD, JSON.stringify(builds));
    return new Map(rows.map(({ build, count }) => [build, Number(count)]));
  }

  /** A log finding by its identity or the first digits of it, with its lot. */
  async finding(identity: string): Promise<{ lot: string; finding: LogFinding } | undefined> {
    const { from, before } = this.db.sql.boundsOfStart(identity);
    const found = await (await this.db.client()).finding.findFirst({
      where: { identity: { gte: from, lt: before } },
      orderBy: { id: 'desc' },
      include: { logFile: { select: { lot: true } } },
    });
    if (!found) return undefined;
    const finding = parseForm(`finding ${identity}`, LogFinding, JSON.parse(found.body));
    return { lot: found.logFile.lot, finding };
  }

  /**
   * The scan of a build, one row and one entry of the audit trail for each file. What was found is kept with the first
   * file, since of several files it was found in all of them together.
   */
  async add(
    this: Logs<Recorder>,
    lot: string,
    { files, part, summaries }: Pick<BuildReport, 'files' | 'part' | 'summaries'>,
  ): Promise<void> {
    const nothing: LogPart = { build: part.build, findings: [], outlines: [], gaps: [] };
    for (const [index, facts] of files.entries()) {
      if (index === 0) await this.addFile(lot, facts, part, summaries);
      else await this.addFile(lot, facts, nothing, []);
    }
  }

  private async addFile(
    this: Logs<Recorder>,
    lot: string,
    facts: LogFacts,
    part: LogPart,
    summaries: readonly SummaryRow[],
  ): Promise<void> {
    const { build, fileName, sha256: evidence, planSha256, scanner } = facts;
    const logFileId = await this.db.recorder.nextId('LogFile');
    const texts = { facts: canonicalJson(facts), part: canonicalJson(part) };
    await this.db.recorder.record(
      { type: 'log-scanned', lot, build, evidence, planSha256, scanner, findings: part.findings.length },
      {
        LogFile: [{ lot, build, fileName, evidence, planSha256, scanner, ...texts }],
        LogSummary: summaries,
        Finding: part.findings.map((finding) => ({ ...finding, identity: finding.id, body: canonicalJson(finding) })),
      },
      { logFileId },
    );
  }
}
