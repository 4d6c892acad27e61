import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { LEDGER_LINES } from '../report/phrases/commands/custody.js';
import { DataFolder } from '../store/data-folder.js';
import { configureAuthority, forgetAuthority } from './witnesses.js';

export async function run(
  out: Output,
  common: CommonOptions,
  url: string | undefined,
  { certificates, off = false }: { certificates?: string; off?: boolean },
): Promise<number> {
  const folder = DataFolder.existing(dataFolderOf(common));
  if (off) forgetAuthority(folder);
  else if (url !== undefined && certificates !== undefined) configureAuthority(folder, url, certificates);
  else throw incomplete();
  const address = off ? undefined : url;
  out.object({ authority: address ?? null });
  out.line(LEDGER_LINES.authority(address));
  return 0;
}

const incomplete = () =>
  new BadInputError([
    {
      code: 'authority',
      field: '--certificates',
      expected: 'the address of the authority, and --certificates beside it; or --off',
      remedy: 'name both: a time stamp proves something only under a certificate that you trust',
    },
  ]);
