import type { Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { DraftFile } from '../store/draft-rows.js';
import type { Upload } from '../web/upload.js';
import type { TypedFields } from './typed-fields.js';

/** The field in which the file for a place is chosen. */
export const fileField = (path: string): string => `file:${path}`;

export interface ChosenFiles {
  readonly files: readonly DraftFile[];
  /** What the document says where each was chosen: its name. */
  readonly named: TypedFields;
  readonly problems: readonly Problem[];
}

/** Files that were chosen in a form, each for the place that names it. A file that is too long is passed over and told. */
export async function chosenFiles(upload: Upload): Promise<ChosenFiles> {
  const files: DraftFile[] = [];
  const named: Record<string, string> = {};
  const problems: Problem[] = [];
  for await (const { field, name: sent, bytes } of upload.files()) {
    const name = sent.split(/[/\\]/).at(-1)!.normalize('NFC');
    const path = field.slice(fileField('').length);
    const blocks: Buffer[] = [];
    let length = 0;
    for await (const block of bytes) {
      length += block.length;
      if (length <= MOST.draftFileBytes) blocks.push(block);
    }
    if (length > MOST.draftFileBytes) {
      problems.push({
        code: 'too-long',
        field: path,
        found: `${name} with ${length} bytes`,
        expected: `at most ${MOST.draftFileBytes} bytes of a file that is chosen in a form`,
        remedy: 'take it in with the document as a folder',
      });
      continue;
    }
    files.push({ name, bytes: Buffer.concat(blocks) });
    named[path] = name;
  }
  return { files, named, problems };
}
