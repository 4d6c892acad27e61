import fs from 'node:fs';
import path from 'node:path';
import { BadInputError, type Problem } from '../base/errors.js';
import { documentText } from './document-text.js';
import { IncomingNames } from './incoming-names.js';

/** A document that was made on a page, with the files that it names. */
export interface MadeDocument {
  /** Name of the file that it becomes, as problems name it: `receipt-R-12.yaml`; of a lot `L-7/lot.yaml`. */
  readonly file: string;
  /** By its `kind`; numbers may be given as text, and are kept so. */
  readonly document: Readonly<Record<string, unknown>>;
  readonly files?: readonly NamedBytes[];
}

interface NamedBytes {
  /** As the document names it. */
  readonly path: string;
  readonly bytes: Uint8Array;
}

/**
 * Writes documents as the folder that somebody would have written.
 * @throws BadInputError for names that no folder could have.
 */
export function writeMadeDocuments(folder: string, documents: readonly MadeDocument[]): void {
  const names = new IncomingNames();
  const problems: Problem[] = [];
  const write = (name: string, content: string | Uint8Array) => {
    const wrong = names.add(name);
    problems.push(...wrong);
    if (wrong.length > 0) return;
    const target = path.join(folder, name);
    fs.mkdirSync(path.dirname(target), { recursive: true, mode: 0o700 });
    fs.writeFileSync(target, content, { mode: 0o600 });
  };
  for (const { file, document, files = [] } of documents) {
    write(file, documentText(document));
    for (const named of files) write(path.posix.join(path.posix.dirname(file), named.path), named.bytes);
  }
  if (problems.length > 0) throw new BadInputError(problems);
}
