import fs from 'node:fs';
import path from 'node:path';
import type { EvidenceFiles } from '../store/evidence/evidence-files.js';
import { documentText } from './document-text.js';
import { IncomingFolder } from './incoming-folder.js';

/** A document that was made on a page, with the files that it names. */
export interface MadeDocument {
  /** Name of the file that it becomes, as problems name it: `receipt-R-12.yaml`; of a lot `L-7/lot.yaml`. */
  readonly file: string;
  /** By its `kind`; numbers may be given as text, and are kept so. */
  readonly document: Readonly<Record<string, unknown>>;
  readonly files?: readonly NamedFile[];
}

/** A file as the document names it: bytes that come with it, or evidence that is stored already, by its hash. */
type NamedFile = { readonly path: string } & ({ readonly bytes: Uint8Array } | { readonly sha256: string });

/**
 * Writes documents as the folder that somebody would have written.
 * @throws BadInputError for names that no folder could have, and for evidence that is not there to be named.
 */
export async function writeMadeDocuments(
  root: string,
  documents: readonly MadeDocument[],
  evidence: EvidenceFiles,
): Promise<void> {
  const folder = new IncomingFolder(root);
  for (const { file, document, files = [] } of documents) {
    await folder.write(file, [Buffer.from(documentText(document))]);
    for (const named of files) {
      const name = path.posix.join(path.posix.dirname(file), named.path);
      if ('bytes' in named) await folder.write(name, [named.bytes]);
      else await writeStored(folder, name, named.sha256, evidence);
    }
  }
  folder.refuseProblems();
}

/** Evidence that lies apart as personal data is not copied by its hash: whoever has the file sends it again. */
async function writeStored(folder: IncomingFolder, name: string, sha256: string, evidence: EvidenceFiles) {
  const { path: stored } = await evidence.placed(sha256, 'bytes');
  if (stored !== undefined && !(await evidence.liesApart(sha256))) {
    await folder.write(name, fs.createReadStream(stored));
    return;
  }
  folder.problems.push({
    code: 'stored-file',
    file: name,
    found: `the hash ${sha256}, ${stored === undefined ? 'of which no bytes are kept here' : 'which is kept apart as personal data'}`,
    expected: 'the SHA-256 of evidence in the data folder, or the file itself',
    remedy: 'send the file itself',
  });
}
