import fs from 'node:fs';
import { AppError } from '../../base/errors.js';
import { sha256Hex } from '../../dossier/canonical.js';
import { plainName } from '../../records/bag.js';
import type { NamedEvidence } from '../../store/questions.js';
import type { Store } from '../../store/store.js';
import { AS_RECEIVED, type CarriedEvidence, type EvidenceFile } from './content.js';
import { smallestFirst, tooLarge } from './too-large.js';

/** Which of the files that documents name are carried, the smallest first, and why the others are not. Reads none of them. */
export async function carriedEvidence(
  { evidence }: Pick<Store, 'evidence'>,
  named: readonly NamedEvidence[],
): Promise<CarriedEvidence[]> {
  const once = [...new Map(named.map((one) => [one.sha256, one])).values()];
  const left = new Map<string, CarriedEvidence['why']>();
  for (const { sha256 } of once) {
    if (named.every((one) => one.sha256 !== sha256 || one.name === AS_RECEIVED))
      left.set(sha256, 'stands in the design');
    else if (await evidence.tombstone(sha256)) left.set(sha256, 'removed');
    else if (await evidence.liesApart(sha256)) left.set(sha256, 'personal data');
  }
  for (const sha256 of tooLarge(once.filter((one) => !left.has(one.sha256)))) left.set(sha256, 'too large');
  const names = new Map<string, string>();
  for (const { sha256, fileName } of once.sort(smallestFirst)) {
    const base = plainName(fileName.split(/[\\/]/).at(-1)!);
    if (!left.has(sha256)) names.set(sha256, `evidence-${sha256.slice(0, 12)}-${base}`);
  }
  return named.map(({ kind, key, revision, name, sha256, fileName, bytes }) => ({
    ...{ kind, key, revision, name, sha256, fileName, bytes },
    carriedAs: names.get(sha256) ?? null,
    why: left.get(sha256) ?? null,
  }));
}

/** A file that is carried, and where it can be read. */
export interface EvidencePlace extends Omit<EvidenceFile, 'bytes'> {
  readonly path: string;
}

/** Where the files lie that are carried, in the order of their names. @throws NotFoundError for one that is not there. */
export async function placesOf(
  { evidence }: Pick<Store, 'evidence'>,
  listed: readonly CarriedEvidence[],
): Promise<EvidencePlace[]> {
  const places = new Map<string, EvidencePlace>();
  for (const { sha256, carriedAs: name } of listed) {
    if (name !== null && !places.has(name)) places.set(name, { name, sha256, path: await evidence.pathOf(sha256) });
  }
  return [...places.values()].sort((a, b) => (a.name < b.name ? -1 : 1));
}

/** @throws AppError ALTERED when one is not the one that was received. */
export async function readPlaced(places: readonly EvidencePlace[]): Promise<EvidenceFile[]> {
  const files: EvidenceFile[] = [];
  for (const { name, sha256, path } of places) {
    const bytes = await fs.promises.readFile(path);
    if (sha256Hex(bytes) !== sha256) throw new AppError('ALTERED', `evidence ${sha256} was altered`, { sha256 });
    files.push({ name, sha256, bytes });
  }
  return files;
}
