import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';

export async function run(out: Output, common: CommonOptions, { to }: { to: string }): Promise<number> {
  const owner = process.env.LOTWRIGHT_STORE_OWNER;
  if (owner === undefined) {
    throw new BadInputError([
      {
        code: 'owner',
        field: 'LOTWRIGHT_STORE_OWNER',
        found: 'nothing',
        expected: 'the address of the database with the role that owns its tables',
        remedy: 'name it, as postgresql://owner@host:5432/database',
      },
    ]);
  }
  const folder = DataFolder.existing(dataFolderOf(common));
  // What is not whole here is told here, and not there.
  await (await Store.open(folder)).close();
  const moved = await ENGINE.relocate(folder, to, owner);
  out.object(moved);
  out.line(CUSTODY_LINES.relocated(moved.rows, moved.entries, moved.files));
  out.line(CUSTODY_LINES.relocatedFrom(moved.kept));
  return 0;
}
