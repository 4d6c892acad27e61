import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { Db } from './db.js';
import type { NewRows } from './new-rows.js';
import type { WholeAssessmentRow } from './questions.js';
import type { Recorder } from './recorder.js';

/** Values that one question of the database client takes at most are 998. */
const AT_ONCE = 500;

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
    return (await this.db.client.dossier.findFirst({ where: { lot }, orderBy: { ledgerSeq: 'desc' } })) ?? undefined;
  }

  /** Digests of the last lot files of lots as of an entry of the audit trail. */
  async digestsOf(lots: readonly string[], asOf: number): Promise<ReadonlyMap<string, string>> {
    const found = new Map<string, string>();
    for (let from = 0; from < lots.length; from += AT_ONCE) {
      const where = { lot: { in: lots.slice(from, from + AT_ONCE) }, ledgerSeq: { lte: asOf } };
      const select = { lot: true, digest: true };
      const rows = await this.db.client.dossier.findMany({ where, orderBy: { ledgerSeq: 'asc' }, select });
      for (const { lot, digest } of rows) found.set(lot, digest);
    }
    return found;
  }

  async byDigest(digest: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.client.dossier.findUnique({ where: { digest } })) ?? undefined;
  }

  /** Texts of parts by their SHA-256. */
  async parts(digests: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.db.ask(this.db.sql.PARTS, JSON.stringify(digests));
    return new Map(rows.map((row) => [row.sha256, row.body]));
  }

  /** Places in the ledger of a dossier and of an assessment of it. */
  async entries(dossier: string, assessment: string): Promise<number[]> {
    const rows = await Promise.all([
      this.db.client.dossier.findUnique({ where: { digest: dossier }, select: { ledgerSeq: true } }),
      this.db.client.assessment.findUnique({ where: { digest: assessment }, select: { ledgerSeq: true } }),
    ]);
    return rows.flatMap((row) => (row ? [row.ledgerSeq] : []));
  }

  /** Stores a frozen lot file with its parts. The same facts give the same digest and store nothing. */
  async add(
    this: LotFiles<Recorder>,
    lot: string,
    digest: string,
    body: string,
    parts: ReadonlyMap<string, { mediaType: string; text: string }>,
  ): Promise<void> {
    const { client, recorder } = this.db;
    if (await client.dossier.findUnique({ where: { digest } })) return;
    const fresh: NonNullable<NewRows['Part']>[number][] = [];
    for (const [sha256, { mediaType, text }] of parts) {
      if (await client.part.findUnique({ where: { sha256 }, select: { sha256: true } })) continue;
      fresh.push({ sha256, mediaType, body: text });
    }
    await recorder.record({ type: 'dossier-frozen', lot, digest }, { Dossier: [{ digest, lot, body }], Part: fresh });
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
    return (await this.db.client.assessment.findUnique({ where: { digest } })) ?? undefined;
  }

  async latest(lot: string): Promise<StoredAssessment | undefined> {
    return (await this.db.client.assessment.findFirst({ where: { lot }, orderBy: { ledgerSeq: 'desc' } })) ?? undefined;
  }

  /** Which assessment of each lot a program made last between two entries of the audit trail: a year of them has gigabytes. */
  async lastBy(
    program: string,
    first: number,
    last: number,
  ): Promise<(Pick<StoredAssessment, 'digest' | 'dossierDigest'> & { readonly lot: string })[]> {
    const where = { program, ledgerSeq: { gte: first, lte: last } };
    const select = { lot: true, digest: true, dossierDigest: true };
    const found = await this.db.client.assessment.findMany({ where, select, orderBy: { ledgerSeq: 'asc' } });
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
    if (await this.db.client.assessment.findUnique({ where: { digest } })) return digest;
    await this.db.recorder.record(
      { type: 'assessment-made', lot, dossier, digest, program },
      { Assessment: [{ digest, dossierDigest: dossier, lot, program, version: assessment.version, body }] },
    );
    return digest;
  }
}
