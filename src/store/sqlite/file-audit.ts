import type Database from 'better-sqlite3';
import { z } from 'zod';
import { KINDS } from '../../kinds/catalogue.js';
import type { FileFault, StoredFault } from '../../ledger/stored-fault.js';
import type { Subject } from '../../ledger/subject.js';
import type { KeptFiles } from '../kept-files.js';
import { ARCHIVES, EVIDENCE_PLACES, FILE_AT, READS, RECORD_FILES, UNKEPT } from './row-check.js';

/** What names a fault of the audit. */
export type AddFault = (subject: Subject, seq: number | null, fault: StoredFault) => void;

/** Runs a step that a damaged page or text may end, and names what it makes impossible. */
export type Guarded = (kind: string, key: () => string, step: () => Promise<void> | void) => Promise<void>;

/** Holds the files beside the database against what the audit trail says of them. */
export class FileAudit {
  /** How many were looked at. */
  count = 0;

  constructor(
    private readonly db: Database.Database,
    private readonly files: KeptFiles,
    private readonly add: AddFault,
    private readonly guarded: Guarded,
  ) {}

  async run(): Promise<void> {
    await this.guarded('evidence', ALL, () => this.checkEvidence());
    await this.guarded('record', ALL, () => this.checkRecords());
    await this.guarded('archive', ALL, () => this.checkArchives());
    await this.guarded('readings', ALL, () => this.checkReads());
    await this.guarded(
      'evidence',
      () => 'sources',
      () => this.checkSources(),
    );
  }

  /** A file that was redacted is gone on purpose, by an event that two people stand for. */
  private async checkEvidence(): Promise<void> {
    const fetch = this.db.prepare(FILE_AT);
    for (const { place, sha256 } of this.db.prepare(EVIDENCE_PLACES).iterate() as IterableIterator<Place>) {
      await this.guarded(
        'evidence',
        () => sha256,
        async () => {
          const { fileName, seq } = fetch.get(place) as { fileName: string; seq: number };
          this.addFile('evidence', sha256, seq, fileName, await this.files.evidenceFault(sha256));
        },
      );
    }
  }

  /** Whatever was read from a file names one that is kept: what was found in it can be found again. */
  private checkSources(): void {
    const kinds = JSON.stringify(KINDS.map(({ kind }) => kind));
    for (const { seq, ...subject } of this.db.prepare(UNKEPT).iterate(kinds) as IterableIterator<Unkept>) {
      this.add(subject, seq, { code: 'names no kept bytes' });
    }
  }

  private async checkRecords(): Promise<void> {
    for (const { number, revision, fileSha256, seq } of this.db
      .prepare(RECORD_FILES)
      .iterate() as IterableIterator<Issued>) {
      const fault = await this.files.recordFault(number, revision, fileSha256);
      this.addFile('record', number, seq, `${number}-r${revision}.pdf`, fault);
    }
  }

  private async checkArchives(): Promise<void> {
    for (const { log, body, seq } of this.db.prepare(ARCHIVES).iterate() as IterableIterator<Archived>) {
      await this.guarded(
        'archive',
        () => log,
        async () => {
          const { sha256 } = ARCHIVE_MADE.parse(JSON.parse(body));
          this.addFile('archive', log, seq, `${log}.json`, await this.files.archiveFault(log, sha256));
        },
      );
    }
  }

  /** Each file as long as was told, with these bytes, at every head of it; and lines that were not told yet. */
  private checkReads(): void {
    const told = new Map<string, (z.infer<typeof READS_NOTED> & { readonly seq: number })[]>();
    for (const { body, seq } of this.db.prepare(READS).iterate() as IterableIterator<Omit<Archived, 'log'>>) {
      const head = { ...READS_NOTED.parse(JSON.parse(body)), seq };
      told.set(head.file, [...(told.get(head.file) ?? []), head]);
    }
    for (const [file, fault] of this.files.readsFaults(told)) {
      this.addFile('readings', file, told.get(file)?.at(-1)?.seq ?? null, file, fault);
    }
  }

  private addFile(kind: string, key: string, seq: number | null, fileName: string, fault: FileFault | undefined): void {
    this.count += 1;
    if (fault === undefined) return;
    this.add({ kind, key, revision: null }, seq, { code: 'file of the entry', facts: { fileName, fault } });
  }
}

const ALL = () => 'all';

interface Unkept extends Subject {
  readonly seq: number;
}

interface Place {
  readonly place: number;
  readonly sha256: string;
}

interface Issued {
  readonly number: string;
  readonly revision: number;
  readonly fileSha256: string;
  readonly seq: number;
}

/** Of the event that names an archive, what is compared. */
const ARCHIVE_MADE = z.object({ sha256: z.string() });

/** The same of readings. */
const READS_NOTED = z.object({
  file: z.string(),
  bytes: z.int().nonnegative(),
  sha256: z.string(),
  altered: z.int().positive().optional(),
});

interface Archived {
  /** SHA-256 of the log as received. */
  readonly log: string;
  readonly body: string;
  readonly seq: number;
}
