import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { pipeline } from 'node:stream/promises';
import type { Problem } from '../base/errors.js';
import { numberOf } from '../kinds/common-fields.js';
import { kindText } from '../report/phrases/kinds.js';
import type { Reads } from '../store/repositories.js';
import type { Copies } from './copies.js';
import type { ReadFolder, ReferencedFile } from './read-folder.js';
import { isSame, revisionBefore } from './repeats.js';

type Part = Pick<ReadFolder, 'site' | 'lots'>;

/**
 * What is wrong with files of documents that say what is recorded already: the revision stays, so its files must be those
 * that came with it. Other bytes would be stored and tied to nothing.
 * @param copies of the files, whose hashes are known; without them the files themselves are read.
 */
export async function recordedFileProblems(read: Reads, part: Part, copies?: Copies): Promise<Problem[]> {
  const problems: Problem[] = [];
  const filesOf = new Map([...part.site, ...part.lots].map(({ document, files }) => [document, files]));
  for (const [document, files] of filesOf) {
    const { kind, body, file: name, lineOf } = document;
    const before =
      files.length === 0 ? undefined : await revisionBefore(read, kind.kind, kind.key(body), numberOf(kind, body));
    if (before === undefined || !isSame(before, body)) continue;
    const recorded = await recordedHashes(read, before);
    for (const file of files) {
      const known = recorded.get(file.use)?.shift();
      if (known === undefined) continue;
      const sha256 = copies?.files.get(file.path)?.sha256 ?? (await sha256OfFile(file));
      if (sha256 === known) continue;
      problems.push({
        code: 'recorded-file',
        file: name,
        line: lineOf(file.field),
        field: file.field,
        found: `other bytes of ${file.name} (SHA-256 ${sha256})`,
        expected: `the file that is recorded with revision ${before.revision} of ${kindText(kind.kind)} ${kind.key(body)} (SHA-256 ${known})`,
        remedy:
          'put the recorded file back; if another one counts now, give it a name of its own, name it in the document, and say there why it changed',
      });
    }
  }
  return problems;
}

/** Hashes of the files of a revision by their use, in the order in which it names them. */
async function recordedHashes(
  read: Reads,
  revision: { kind: string; key: string; revision: number },
): Promise<Map<string, string[]>> {
  const found = new Map<string, string[]>();
  for (const { name, sha256 } of await read.entries.evidenceNamedBy([revision])) {
    found.set(name, [...(found.get(name) ?? []), sha256]);
  }
  return found;
}

async function sha256OfFile({ path }: ReferencedFile): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(fs.createReadStream(path, { highWaterMark: 1 << 18 }), hash);
  return hash.digest('hex');
}
