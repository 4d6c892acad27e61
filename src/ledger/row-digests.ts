import { digestOf, sha256Hex } from '../dossier/canonical.js';

/** What digests of ledger entries cover, where it is more than one text: the writer and the check take them here. */

export interface Tie {
  readonly name: string;
  readonly to: { readonly kind: string; readonly key: string } | { readonly evidence: string };
  readonly revision?: number | undefined;
  readonly massG?: string | undefined;
}

/** Name and links of a revision, in the order of storing. */
export function tiesDigest(name: string, ties: readonly Tie[]): string {
  const links = ties.map((tie) => ({
    name: tie.name,
    to: 'evidence' in tie.to ? { evidence: tie.to.evidence } : { kind: tie.to.kind, key: tie.to.key },
    revision: tie.revision ?? null,
    massG: tie.massG ?? null,
  }));
  return digestOf({ name, links });
}

/** @param summaries SHA-256 of the rows of the summaries as one JSON list of lists. */
export function logScanDigest(factsText: string, partText: string, summaries: string): string {
  return digestOf({ facts: sha256Hex(factsText), part: sha256Hex(partText), summaries });
}

/** What trends need of one lot, build and characteristic. */
export interface LotSummaryFields {
  readonly build: string;
  readonly builtAt: string;
  readonly family: string;
  readonly characteristic: string;
  readonly ucum: string;
  readonly n: number;
  readonly mean: number | null;
  readonly sumSquaredDeviations: number | null;
  readonly min: number | null;
  readonly max: number | null;
  readonly censored: number;
}

export function lotSummariesDigest(rows: readonly LotSummaryFields[]): string {
  return digestOf(
    rows.map((row) => [
      ...[row.build, row.builtAt, row.family, row.characteristic, row.ucum],
      ...[row.n, row.mean, row.sumSquaredDeviations, row.min, row.max, row.censored],
    ]),
  );
}
