import fs from 'node:fs';
import { AppError } from '../../base/errors.js';
import { sha256Hex } from '../../dossier/canonical.js';
import { plainName } from '../../records/bag.js';
import type { NamedEvidence } from '../../store/questions.js';
import type { Store } from '../../store/store.js';
import { AS_RECEIVED, type CarriedEvidence, type EvidenceFile } from './content.js';
import { smallestFirst, tooLarge } from './too-large.js';

/**
 * Which of the files that documents name are carried, the smallest first, and why the others are not.
 * @throws AppError ALTERED when one is not the one that was received.
 */
export async function carriedEvidence(
  { evidence }: Pick<Store, 'evidence'>,
  named: readonly NamedEvidence[],
): Promise<{ listed: CarriedEvidence[]; files: EvidenceFile[] }> {
  const once = [...new Map(named.map((one) => [one.sha256, one])).values()];
  const left = new Map<string, CarriedEvidence['why']>();
  for (const { sha256 } of once) {
    if (named.every((one) => one.sha256 !== sha256 || one.name === AS_RECEIVED))
      left.set(sha256, 'stands in the design');
    else if (await evidence.tombstone(sha256)) left.set(sha256, 'removed');
    else if (await evidence.liesApart(sha256)) left.set(sha256, 'personal data');
  }
  for (const sha256 of tooLarge(once.filter((one) => !left.has(one.sha256)))) left.set(sha256, 'too large');
  const files = new Map<string, EvidenceFile>();
  for (const { sha256, fileName } of once.sort(smallestFirst)) {
    if (left.has(sha256)) continue;
    const read = await fs.promises.readFile(await evidence.pathOf(sha256));
    if (sha256Hex(read) !== sha256) throw new AppError('ALTERED', `evidence ${sha256} was altered`, { sha256 });
    const base = plainName(fileName.split(/[\\/]/).at(-1)!);
    files.set(sha256, { name: `evidence-${sha256.slice(0, 12)}-${base}`, sha256, bytes: read });
  }
  return {
    listed: named.map(({ kind, key, revision, name, sha256, fileName, bytes }) => ({
      ...{ kind, key, revision, name, sha256, fileName, bytes },
      carriedAs: files.get(sha256)?.name ?? null,
      why: left.get(sha256) ?? null,
    })),
    files: [...files.values()],
  };
}
