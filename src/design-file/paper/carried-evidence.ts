import fs from 'node:fs';
import { AppError } from '../../base/errors.js';
import { sha256Hex } from '../../dossier/canonical.js';
import { plainName } from '../../records/bag.js';
import type { NamedEvidence } from '../../store/questions.js';
import type { Store } from '../../store/store.js';
import { AS_RECEIVED, type CarriedEvidence, type EvidenceFile } from './content.js';

/** Bytes of one file, and of all together: whatever is more is named by its digest alone, so that the file can still be sent. */
export const MOST_CARRIED = { ofOne: 4 * 2 ** 20, ofAll: 16 * 2 ** 20 } as const;

/**
 * Which of the files that documents name are carried, the smallest first, and why the others are not.
 * @throws AppError ALTERED when one is not the one that was received.
 */
export async function carriedEvidence(
  { evidence }: Pick<Store, 'evidence'>,
  named: readonly NamedEvidence[],
): Promise<{ listed: CarriedEvidence[]; files: EvidenceFile[] }> {
  const once = [...new Map(named.map((one) => [one.sha256, one])).values()];
  const files = new Map<string, EvidenceFile>();
  const left = new Map<string, CarriedEvidence['why']>();
  let sum = 0;
  for (const { sha256, fileName, bytes } of once.sort((a, b) => a.bytes - b.bytes || (a.sha256 < b.sha256 ? -1 : 1))) {
    if (named.every((one) => one.sha256 !== sha256 || one.name === AS_RECEIVED))
      left.set(sha256, 'stands in the design');
    else if (await evidence.tombstone(sha256)) left.set(sha256, 'removed');
    else if (await evidence.liesApart(sha256)) left.set(sha256, 'personal data');
    else if (bytes > MOST_CARRIED.ofOne || sum + bytes > MOST_CARRIED.ofAll) left.set(sha256, 'too large');
    else {
      const read = await fs.promises.readFile(await evidence.pathOf(sha256));
      if (sha256Hex(read) !== sha256) throw new AppError('ALTERED', `evidence ${sha256} was altered`, { sha256 });
      const base = plainName(fileName.split(/[\\/]/).at(-1)!);
      files.set(sha256, { name: `evidence-${sha256.slice(0, 12)}-${base}`, sha256, bytes: read });
      sum += bytes;
    }
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
