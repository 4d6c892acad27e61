import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import type { Relocated } from '../store/engine.js';
import { type RelocatedEvidence, relocateEvidence } from '../store/evidence/relocate-evidence.js';
import { Store } from '../store/store.js';

interface RelocateOptions {
  readonly to?: string;
  readonly evidence?: string;
}

export async function run(out: Output, common: CommonOptions, { to, evidence }: RelocateOptions): Promise<number> {
  if (to === undefined && evidence === undefined) {
    throw missing('--to', 'the address of a database, or by --evidence that of an object store', 'name one of both');
  }
  const folder = DataFolder.existing(dataFolderOf(common));
  const moved = {
    ...(to === undefined ? {} : await moveDatabase(out, folder, to)),
    ...(evidence === undefined ? {} : { evidence: await moveEvidence(out, dataFolderOf(common), evidence) }),
  };
  out.object(moved);
  return 0;
}

async function moveDatabase(out: Output, folder: DataFolder, to: string): Promise<Relocated> {
  const owner = process.env.LOTWRIGHT_STORE_OWNER;
  if (owner === undefined) {
    throw missing(
      'LOTWRIGHT_STORE_OWNER',
      'the address of the database with the role that owns its tables',
      'name it, as postgresql://owner@host:5432/database',
    );
  }
  // What is not whole here is told here, and not there.
  await (await Store.open(folder)).close();
  const moved = await ENGINE.relocate(folder, to, owner);
  out.line(CUSTODY_LINES.relocated(moved.rows, moved.entries, moved.files));
  out.line(CUSTODY_LINES.relocatedFrom(moved.kept));
  return moved;
}

async function moveEvidence(out: Output, folder: string, address: string): Promise<RelocatedEvidence> {
  const store = await Store.open(DataFolder.existing(folder));
  try {
    const moved = await relocateEvidence(store, address);
    out.line(CUSTODY_LINES.relocatedEvidence(moved.files, moved.bytes, moved.address));
    out.line(CUSTODY_LINES.relocatedEvidenceFrom(moved.kept));
    return moved;
  } finally {
    await store.close();
  }
}

const missing = (field: string, expected: string, remedy: string): BadInputError =>
  new BadInputError([{ code: 'relocate', field, found: 'nothing', expected, remedy }]);
