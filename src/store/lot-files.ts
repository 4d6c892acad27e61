import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { Db } from './db.js';
import type { WholeAssessmentRow } from './questions.js';
import type { Recorder } from './recorder.js';

/** What an assessment says of each implant, as it was stored: any version may have written it. */
export interface StoredUnits {
  readonly dossierDigest: string;
  /** Of the rules that assessed. */
  readonly version: string;
  readonly units: unknown;
  /** Code and findings of those that have findings. */
  readonly checks: unknown;
}

/** Frozen lot files with their parts. */
export class LotFiles<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async latest(lot: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.ask(this.db.sql.LAST_DOSSIER, lot))[0];
  }

  /** Digests of the last lot files of lots as of an entry of the audit trail. */
  async digestsOf(lots: readonly string[], asOf: number): Promise<ReadonlyMap<string, string>> {
    const rows = await this.db.ask(this.db.sql.DOSSIERS_UP_TO, JSON.stringify(lots), asOf);
    return new Map(rows.map(({ lot, digest }) => [lot, digest]));
  }

  async byDigest(digest: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.ask(this.db.sql.DOSSIER, digest))[0];
  }

  /** Texts of parts by their SHA-256. */
  async parts(digests: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.db.ask(this.db.sql.PARTS, JSON.stringify(digests));
    return new Map(rows.map((row) => [row.sha256, row.body]));
  }

  /** Places in the ledger of a dossier and of an assessment of it. */
  async entries(dossier: string, assessment: string): Promise<number[]> {
    const rows = await Promise.all([
      this.db.ask(this.db.sql.ENTRY_OF_DOSSIER, dossier),
      this.db.ask(this.db.sql.ENTRY_OF_ASSESSMENT, assessment),
    ]);
    return rows.flatMap((found) => found.map(({ ledgerSeq }) => ledgerSeq));
  }

  /** Stores a frozen lot file with its parts. The same facts give the same digest and store nothing. */
  async add(
    this: LotFiles<Recorder>,
    lot: string,
    digest: string,
    body: string,
    parts: ReadonlyMap<string, { mediaType: string; text: string }>,
  ): Promise<void> {
    if (await this.byDigest(digest)) return;
    const found = await this.db.ask(this.db.sql.PARTS_THERE, JSON.stringify([...parts.keys()]));
    const there = new Set(found.map(({ sha256 }) => sha256));
    const fresh = [...parts].flatMap(([sha256, { mediaType, text }]) =>
      there.has(sha256) ? [] : [{ sha256, mediaType, body: text }],
    );
    await this.db.recorder.record(
      { type: 'dossier-frozen', lot, digest },
      { Dossier: [{ digest, lot, body }], Part: fresh },
    );
  }
}

interface StoredAssessment {
  readonly digest: string;
  readonly dossierDigest: string;
  readonly body: string;
  readonly ledgerSeq: number;
}

/** What was said of lot files. */
export class Assessments<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async byDigest(digest: string): Promise<StoredAssessment | undefined> {
    return (await this.db.ask(this.db.sql.ASSESSMENT, digest))[0];
  }

  async latest(lot: string): Promise<StoredAssessment | undefined> {
    return (await this.db.ask(this.db.sql.LAST_ASSESSMENT, lot))[0];
  }

  /** Which assessment of each lot a program made last between two entries of the audit trail: a year of them has gigabytes. */
  async lastBy(
    program: string,
    first: number,
    last: number,
  ): Promise<(Pick<StoredAssessment, 'digest' | 'dossierDigest'> & { readonly lot: string })[]> {
    const where = { program, ledgerSeq: { gte: first, lte: last } };
    const select = { lot: true, digest: true, dossierDigest: true };
    const found = await (await this.db.client()).assessment.findMany({ where, select, orderBy: { ledgerSeq: 'asc' } });
    return [...new Map(found.map((one) => [one.lot, one])).values()].sort((a, b) => (a.lot < b.lot ? -1 : 1));
  }

  /** The current assessment of a lot: by this version of the rules, or the latest by another. */
  async current(version: string, lot: string): Promise<WholeAssessmentRow | undefined> {
    return (await this.db.ask(this.db.sql.CURRENT_OF_LOT, version, lot))[0];
  }

  /** Lots that rules of another version assessed last, those first that were frozen last. */
  async lotsLastAssessedByOthers(version: string): Promise<string[]> {
    const rows = await this.db.ask(this.db.sql.LAST_ASSESSED_BY_OTHERS, version);
    return rows.map(({ lot }) => lot);
  }

  /** What the current assessment says of the units of each lot, or of one, without the rest of it. */
  async units(version: string, lot?: string): Promise<ReadonlyMap<string, StoredUnits>> {
    const rows =
      lot === undefined
        ? await this.db.ask(this.db.sql.UNITS_OF_ALL_LOTS, version)
        : await this.db.ask(this.db.sql.UNITS_OF_LOT, version, lot);
    return new Map(
      rows.map((row) => [
        row.lot,
        {
          dossierDigest: row.dossierDigest,
          version: row.version,
          units: JSON.parse(row.units ?? '[]'),
          checks: JSON.parse(row.checks),
        },
      ]),
    );
  }

  /** @returns its digest. One that is there already stores nothing. */
  async add(
    this: Assessments<Recorder>,
    lot: string,
    dossier: string,
    program: string,
    assessment: { readonly version: string },
  ): Promise<string> {
    const body = canonicalJson(assessment);
    const digest = sha256Hex(body);
    if (await this.byDigest(digest)) return digest;
    await this.db.recorder.record(
      { type: 'assessment-made', lot, dossier, digest, program },
      { Assessment: [{ digest, dossierDigest: dossier, lot, program, version: assessment.version, body }] },
    );
    return digest;
  }
}
