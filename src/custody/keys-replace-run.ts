import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { proveOver } from '../people/prove-at-command.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { AnchorFile } from '../store/anchor-file.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { replaceLostKey } from './outside-acts.js';

interface ReplaceOptions {
  readonly person: string;
  readonly second: string;
  readonly reason: string;
  readonly passwordStdin?: boolean;
}

export async function run(out: Output, common: CommonOptions, options: ReplaceOptions): Promise<number> {
  const folder = DataFolder.existing(dataFolderOf(common));
  const anchored = AnchorFile.beside(folder.path).exists;
  const store = await Store.open(folder, undefined, { anchored });
  try {
    const [first, second] = await proveOver(store, [options.person, options.second], options);
    const replaced = await replaceLostKey(store, [first!, second!], options.reason);
    out.object(replaced);
    out.line(CUSTODY_LINES.lostReplaced(replaced.fingerprint, replaced.replaced, replaced.persons));
    return 0;
  } finally {
    await store.close();
  }
}
