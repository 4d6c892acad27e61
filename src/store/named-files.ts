import path from 'node:path';
import { kindNamed } from '../kinds/catalogue.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { StoredRevision } from './entries.js';
import type { NamedEvidence } from './questions.js';
import type { Reads } from './repositories.js';

/**
 * The files that documents name, each called as its own document calls it: the same bytes may have come before, under the
 * name that the document of another case has for them. In the order of the documents, and in each as it names them.
 */
export async function namedFiles(read: Reads, documents: readonly StoredRevision[]): Promise<NamedEvidence[]> {
  const asked = new Map(documents.map((document) => [nameOf(document), document]));
  const names = new Map([...asked].map(([name, document]) => [name, namesIn(document)]));
  return (await read.entries.evidenceNamedBy([...asked.values()])).map((row) => ({
    ...row,
    // The document itself, as received, is none of the files that it names.
    fileName: names.get(nameOf(row))?.get(row.name)?.shift() ?? row.fileName,
  }));
}

const nameOf = ({ kind, key, revision }: Pick<StoredRevision, 'kind' | 'key' | 'revision'>): string =>
  `${kind} ${key} ${revision}`;

/** Names of files by their use, in the order in which the ties to them were stored. */
function namesIn({ kind, body }: StoredRevision): Map<string, string[]> {
  const found = new Map<string, string[]>();
  for (const { name, path: file } of kindNamed(kind)?.files(body) ?? []) {
    // The name of a scan may tell who the patient is.
    const fileName = name === PERSONAL_DATA ? PERSONAL_DATA : path.posix.basename(file);
    found.set(name, [...(found.get(name) ?? []), fileName]);
  }
  return found;
}
