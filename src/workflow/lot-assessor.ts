import { assess } from '../assessment/assess.js';
import type { Assessment } from '../assessment/assessment.js';
import { currentResults } from '../assessment/specimens.js';
import { canonicalJson } from '../dossier/canonical.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import { Dossier } from '../dossier/schema.js';
import { AppError, NotFoundError } from '../errors.js';
import { PROGRAM } from '../settings.js';
import { moments } from '../statistics/summary.js';
import { assembleDossier } from '../store/assemble-dossier.js';
import type { Store } from '../store/store.js';

/** A frozen lot with what the program says of it. */
export interface AssessedLot {
  readonly facts: Facts;
  readonly dossierText: string;
  readonly dossierSha256: string;
  /** Texts of the parts by SHA-256. */
  readonly parts: ReadonlyMap<string, string>;
  readonly assessment: Assessment;
  readonly assessmentSha256: string;
}

const ATTEMPTS = 5;

/** Freezes lots and assesses them. */
export class LotAssessor {
  constructor(private readonly store: Store) {}

  /**
   * Freezes the facts of a lot as they stand, assesses them, and stores both. Unchanged facts store nothing.
   * @throws NotFoundError when there is no such lot.
   */
  async assess(lot: string, actor: string): Promise<AssessedLot> {
    await this.store.read.currentOrThrow('lot', lot);
    for (let attempt = 1; ; attempt++) {
      const size = await this.store.read.ledgerSize();
      const frozen = await assembleDossier(this.store.read, lot, this.store.folder.demo);
      const parts = new Map([...frozen.parts].map(([sha256, part]) => [sha256, part.text]));
      const facts = readFacts(frozen.dossier, parts);
      const assessment = assess(facts, PROGRAM);
      const stored = await this.store.change(actor, async (writer) => {
        // Facts that came in while they were gathered belong to a later dossier: gather again.
        if (writer.ledgerSize !== size) return undefined;
        await writer.recordDossier(lot, frozen.digest, frozen.body, frozen.parts);
        const digest = await writer.recordAssessment(lot, frozen.digest, PROGRAM, canonicalJson(assessment));
        await writer.recordLotSummaries(summariesOf(facts, frozen.digest));
        return digest;
      });
      if (stored === undefined) {
        if (attempt < ATTEMPTS) continue;
        throw new AppError('BUSY', `facts kept coming in while lot ${lot} was frozen; nothing was stored, try again`);
      }
      return {
        facts,
        dossierText: frozen.body,
        dossierSha256: frozen.digest,
        parts,
        assessment,
        assessmentSha256: stored,
      };
    }
  }

  /**
   * The facts of a lot: those of its latest stored dossier, or as they stand when none was frozen. Nothing is stored.
   * @throws NotFoundError when there is no such lot.
   */
  async facts(lot: string): Promise<Facts> {
    const stored = await this.store.read.latestDossier(lot);
    if (stored) return this.factsOf(Dossier.parse(JSON.parse(stored.body)));
    await this.store.read.currentOrThrow('lot', lot);
    const frozen = await assembleDossier(this.store.read, lot, this.store.folder.demo);
    return readFacts(frozen.dossier, new Map([...frozen.parts].map(([sha256, { text }]) => [sha256, text])));
  }

  private async factsOf(dossier: Dossier): Promise<Facts> {
    return readFacts(dossier, await this.store.read.parts(dossier.parts.map((part) => part.sha256)));
  }

  /** The latest stored dossier of a lot, assessed by this version of the program; undefined when none was frozen. */
  async latest(lot: string): Promise<AssessedLot | undefined> {
    const stored = await this.store.read.latestDossier(lot);
    if (!stored) {
      if (!(await this.store.read.current('lot', lot))) throw new NotFoundError('lot', lot);
      return undefined;
    }
    const dossier = Dossier.parse(JSON.parse(stored.body));
    const parts = await this.store.read.parts(dossier.parts.map((part) => part.sha256));
    const facts = readFacts(dossier, parts);
    const saved = await this.store.read.latestAssessment(lot);
    return {
      facts,
      dossierText: stored.body,
      dossierSha256: stored.digest,
      parts,
      assessment: assess(facts, PROGRAM),
      assessmentSha256: saved?.digest ?? '',
    };
  }
}

const stored = (value: number): number => Number(value.toPrecision(9));

/** What trends need of a lot: they never reread its results. */
function summariesOf(facts: Facts, dossierDigest: string) {
  const { lot, family } = facts;
  const buildOf = new Map<string, string>([
    ...lot.body.implants.map((part): [string, string] => [part.serial, part.build]),
    ...lot.body.coupons.map((part): [string, string] => [part.coupon, part.build]),
  ]);
  const results = currentResults(facts);
  return lot.body.builds.flatMap((build) =>
    facts.specification.body.characteristics.flatMap((item) => {
      const own = results.filter(
        (row) => row.characteristic === item.characteristic && buildOf.get(row.specimen) === build.build,
      );
      if (own.length === 0) return [];
      const values = own.filter((row) => readReported(row.value).qualifier === '').map((row) => Number(row.value));
      const { mean, sd, min, max } = values.length > 0 ? moments(values) : { mean: 0, sd: 0, min: 0, max: 0 };
      const known = <T>(value: T): T | null => (values.length > 0 ? value : null);
      return [
        {
          lot: lot.body.lot,
          build: build.build,
          builtAt: build.closedAt,
          family: family.body.family,
          characteristic: item.characteristic,
          ucum: item.ucum,
          n: values.length,
          mean: known(stored(mean)),
          sumSquaredDeviations: known(stored(values.length > 1 ? sd * sd * (values.length - 1) : 0)),
          min: known(min),
          max: known(max),
          censored: own.length - values.length,
          dossierDigest,
        },
      ];
    }),
  );
}
