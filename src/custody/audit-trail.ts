import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { AppError, BadInputError, LaterFormError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { noFormula, writeCsv } from '../dossier/csv.js';
import { type LedgerEntry, subjectOfEntry } from '../ledger/entry.js';
import { faultOfAct } from '../ledger/signed-acts.js';
import { faultOfSigned, type KnownKeys } from '../ledger/signed-statement.js';
import type { TrailChange, TrailFilter, TrailLine } from '../ledger/trail.js';
import { moreText } from '../report/phrases/kinds.js';
import { ACT_FAULTS, STATEMENT_FAULTS } from '../report/phrases/stored-faults.js';
import { actText, TRAIL_VALUES } from '../report/phrases/trail-acts.js';
import { bodyChanges, entryChanges, eventChanges, statementChanges } from '../report/trail-changes.js';
import { Store } from '../store/store.js';

/** A page of the trail, newest first. */
export interface TrailPage {
  readonly lines: readonly TrailLine[];
  /** Number of the entry before which the next page begins, or null at the end. */
  readonly older: number | null;
}

/** A file that was given out and is noted in the trail. Whoever takes it removes it. */
export interface TrailExport {
  readonly file: string;
  readonly name: string;
  readonly lines: number;
  readonly sha256: string;
}

export const CSV_COLUMNS = [
  ...['entry', 'at', 'offset', 'by', 'act', 'thing', 'key', 'revision'],
  ...['field', 'before', 'after', 'reason'],
];

/** Lines of a report on paper that somebody still reads; more are for a table of numbers. */
export const MOST_REPORT_LINES = 2000;

/** The audit trail for people: what was done to what, by whom, when and why, with old and new values. */
@Injectable()
export class AuditTrail {
  private known: { readonly lastEventId: number; readonly keys: KnownKeys } | undefined;

  constructor(private readonly store: Store) {}

  /** @param before only entries with a smaller number; the newest when absent. */
  async page(
    filter: TrailFilter,
    take: number,
    before?: number,
    mostValues = Number.POSITIVE_INFINITY,
  ): Promise<TrailPage> {
    const from = before ?? (await this.store.read.ledger.size()) + 1;
    const entries = await this.store.read.trail.before(filter, from, take + 1);
    const lines: TrailLine[] = [];
    let values = 0;
    for (const entry of entries.slice(0, take)) {
      const line = await this.line(entry);
      values += line.changes.length;
      if (lines.length > 0 && values > mostValues) break;
      lines.push(line);
    }
    return { lines, older: entries.length > lines.length ? lines.at(-1)!.seq : null };
  }

  /** Every line that the filter lets through, oldest first, as the trail stands at the beginning. */
  async *lines(filter: TrailFilter): AsyncGenerator<TrailLine> {
    const size = await this.store.read.ledger.size();
    for await (const entry of this.store.read.trail.oldestFirst(filter, size)) yield await this.line(entry);
  }

  /** Writes the trail as CSV into a file and notes in the trail that it was given out. Memory does not grow with it. */
  async exportCsv(filter: TrailFilter, actor: string): Promise<TrailExport> {
    const file = this.newFile('csv');
    const hash = createHash('sha256');
    let lines = 0;
    const out = await fs.promises.open(file, 'wx', 0o600);
    try {
      const write = async (text: string) => {
        hash.update(text);
        await out.write(text);
      };
      await write(writeCsv(CSV_COLUMNS, []));
      for await (const line of this.lines(filter)) {
        lines += 1;
        await write(csvRows(line));
      }
    } finally {
      await out.close();
    }
    return this.givenOut({ file, name: 'audit-trail.csv', lines, sha256: hash.digest('hex') }, filter, actor);
  }

  /**
   * Writes the trail as PDF into a file and notes it.
   * @throws BadInputError when the filter lets more through than somebody reads on paper.
   */
  async exportPdf(filter: TrailFilter, actor: string): Promise<TrailExport> {
    const lines: TrailLine[] = [];
    for await (const line of this.lines(filter)) {
      lines.push(line);
      if (lines.length > MOST_REPORT_LINES) throw tooMany();
    }
    const head = await this.store.proofs.signedHead();
    const printedAt = this.store.clock.now();
    // Drawing engine and fonts take a tenth of a second to load, and most services never print the trail.
    const { renderTrailReport } = await import('../records/trail-report.js');
    const pdf = await renderTrailReport({
      lines,
      filter,
      head: { origin: head.origin, size: head.size, root: head.root },
      printedAt,
      printedBy: actor,
      program: programName(),
      demo: this.store.folder.demo,
    });
    const file = this.newFile('pdf');
    await fs.promises.writeFile(file, pdf, { mode: 0o600, flag: 'wx' });
    const sha256 = createHash('sha256').update(pdf).digest('hex');
    return this.givenOut({ file, name: 'audit-trail.pdf', lines: lines.length, sha256 }, filter, actor);
  }

  private async givenOut(made: TrailExport, filter: TrailFilter, actor: string): Promise<TrailExport> {
    const what = made.name.endsWith('.pdf') ? ('audit trail as PDF' as const) : ('audit trail as CSV' as const);
    const asked = Object.entries(filter).filter((field): field is [string, string] => Boolean(field[1]));
    try {
      await this.store.change(actor, (change) =>
        change.events.add({
          type: 'exported',
          what,
          filter: Object.fromEntries(asked),
          lines: made.lines,
          sha256: made.sha256,
        }),
      );
    } catch (error) {
      fs.rmSync(made.file, { force: true });
      throw error;
    }
    return made;
  }

  /** Read anew only when something happened: a trail has thousands of statements. */
  private async knownKeys(): Promise<KnownKeys> {
    const { events } = this.store.read;
    const lastEventId = await events.lastId();
    if (this.known?.lastEventId !== lastEventId) this.known = { lastEventId, keys: await events.knownKeys() };
    return this.known.keys;
  }

  private newFile(ending: string): string {
    const folder = path.join(this.store.folder.path, 'exports');
    fs.mkdirSync(folder, { recursive: true, mode: 0o700 });
    return path.join(folder, `${randomUUID()}.${ending}`);
  }

  private async line(entry: LedgerEntry): Promise<TrailLine> {
    const { seq, at, offset, actor } = entry;
    const { changes, reason } = await this.changesOrNone(entry);
    return { seq, at, offset, actor, act: actText(entry), subject: subjectOfEntry(entry), reason, changes };
  }

  /** What only a later version can read is told by its entry alone. */
  private async changesOrNone(entry: LedgerEntry): ReturnType<AuditTrail['changesOf']> {
    try {
      return await this.changesOf(entry);
    } catch (error) {
      if (!(error instanceof LaterFormError)) throw error;
      return { changes: entryChanges(entry), reason: null };
    }
  }

  private async changesOf(entry: LedgerEntry): Promise<{ changes: TrailChange[]; reason: string | null }> {
    const { entries, results, events, signatures } = this.store.read;
    switch (entry.type) {
      case 'revision-recorded': {
        const { before, after } = await entries.pair(entry.kind, entry.key, entry.revision);
        return { changes: bodyChanges(before, after), reason: entry.reason ?? null };
      }
      case 'results-recorded': {
        const corrections = entry.corrections === 0 ? [] : await results.corrections(entry.lot, entry.seq);
        return { changes: [...entryChanges(entry), ...corrections], reason: null };
      }
      case 'event-recorded': {
        const act = await events.at(entry.subject, entry.seq);
        if (!act) return { changes: [lost()], reason: entry.reason ?? null };
        const fault = faultOfAct(act, await this.knownKeys());
        const changes = [...eventChanges(act.event), ...(fault === undefined ? [] : [notHolding(ACT_FAULTS[fault])])];
        return { changes, reason: entry.reason ?? null };
      }
      case 'statement-signed': {
        const [recorded] = await signatures.withDigests([entry.digest]);
        if (!recorded) return { changes: [lost()], reason: null };
        const { statement } = recorded.signed;
        const fault = faultOfSigned(recorded.signed, await this.knownKeys(), entry.seq);
        const changes = [
          ...statementChanges(statement),
          ...(fault === undefined ? [] : [notHolding(STATEMENT_FAULTS[fault])]),
        ];
        return { changes, reason: statement.reason };
      }
      default:
        return { changes: entryChanges(entry), reason: null };
    }
  }
}

/** Only an attack on the database brings this about; the check of the audit trail names it. */
const lost = (): TrailChange => ({ what: TRAIL_VALUES.lost, before: null, after: TRAIL_VALUES.isLost, reason: null });

/** The same, of what its person or the installation did not sign. */
const notHolding = (why: string): TrailChange => ({
  what: TRAIL_VALUES.doesNotHold,
  before: null,
  after: why,
  reason: null,
});

/** One row a value, so that a table program can sort by old and new values. */
function csvRows(line: TrailLine): string {
  const { kind, key, revision, others } = line.subject;
  const named = others === undefined ? key : moreText(key, others);
  const common = [
    String(line.seq),
    line.at,
    line.offset,
    line.actor,
    line.act,
    kind,
    named,
    revision?.toString() ?? '',
  ];
  const changes = line.changes.length > 0 ? line.changes : [{ what: '', before: null, after: null, reason: null }];
  const rows = changes.map((change) => [
    ...common,
    change.what,
    change.before ?? '',
    change.after ?? '',
    change.reason ?? line.reason ?? '',
  ]);
  const text = writeCsv(
    CSV_COLUMNS,
    rows.map((row) => row.map(noFormula)),
  );
  return text.slice(text.indexOf('\n') + 1);
}

function tooMany(): AppError {
  return new BadInputError([
    {
      code: 'too-many-lines',
      field: 'filter',
      expected: `at most ${MOST_REPORT_LINES} lines for a PDF`,
      remedy: 'narrow the search by thing, person, act or days, or take the CSV, which has no such limit',
    },
  ]);
}
