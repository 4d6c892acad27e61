import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { Store } from '../store/store.js';

export async function run(context: INestApplicationContext, out: Output): Promise<number> {
  const store = context.get(Store);
  const known = await store.read.events.installationKeys();
  const inUse = store.key.fingerprint;
  out.object({ inUse, keys: known });
  for (const { fingerprint } of known) out.line(CUSTODY_LINES.key(fingerprint, fingerprint === inUse));
  return 0;
}
