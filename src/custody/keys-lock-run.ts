import type { INestApplicationContext } from '@nestjs/common';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { passphraseOf } from '../cli/passwords.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { Store } from '../store/store.js';

const SHORTEST = 12;

export async function run(
  context: INestApplicationContext,
  out: Output,
  { off = false, passphraseStdin = false }: { off?: boolean; passphraseStdin?: boolean },
): Promise<number> {
  const { key, folder } = context.get(Store);
  key.lock(folder.path, off ? undefined : longEnough(await passphraseOf(CUSTODY_LINES.newPassphrase, passphraseStdin)));
  out.object({ locked: !off });
  out.line(CUSTODY_LINES.locked(!off));
  return 0;
}

function longEnough(passphrase: string): string {
  if (passphrase.length >= SHORTEST) return passphrase;
  throw new BadInputError([
    {
      code: 'passphrase',
      field: 'passphrase',
      found: `${passphrase.length} characters`,
      expected: `at least ${SHORTEST}`,
      remedy: 'choose a longer one, of several words',
    },
  ]);
}
