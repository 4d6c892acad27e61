import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { sha256Hex } from '../dossier/canonical.js';
import { headLine, verifierKeyOf } from '../ledger/checkpoint.js';
import { Store } from '../store/store.js';

export async function run(context: INestApplicationContext, out: Output, options: { note?: boolean }): Promise<number> {
  const store = context.get(Store);
  const head = await store.proofs.signedHead();
  const line = headLine(head.note);
  const { fingerprint, publicPem } = store.key;
  await store.change(systemActor(), (change) =>
    change.events.add({
      type: 'exported',
      what: 'signed head',
      filter: { entries: String(head.size) },
      lines: null,
      sha256: sha256Hex(head.checkpoint),
    }),
  );
  const { origin, size, root, checkpoint } = head;
  const verifierKey = verifierKeyOf({ name: origin, publicPem });
  out.object({ origin, size, root, line, checkpoint, key: fingerprint, verifierKey });
  out.line(options.note ? checkpoint.trimEnd() : line);
  return 0;
}
