import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { sha256Hex } from '../dossier/canonical.js';
import { timeText } from '../dossier/time-text.js';
import { headLine, verifierKeyOf } from '../ledger/checkpoint.js';
import { headMail, LEDGER_LINES } from '../report/phrases/commands/custody.js';
import { Store } from '../store/store.js';
import { dropHead, stampHead } from './witnesses.js';

interface HeadOptions {
  readonly note?: boolean;
  readonly mail?: string;
  readonly drop?: string;
  readonly stamp?: boolean;
}

export async function run(context: INestApplicationContext, out: Output, options: HeadOptions): Promise<number> {
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
  const actor = systemActor();
  const dropped = options.drop === undefined ? undefined : await dropHead(store, options.drop, head, actor);
  const stamped = options.stamp ? await stampHead(store, head, actor) : undefined;
  const witnessed = [dropped, stamped].filter((one) => one !== undefined);
  out.object({
    ...{ origin, size, root, line, checkpoint, key: fingerprint, verifierKey },
    ...(witnessed.length === 0 ? {} : { witnessed: witnessed.map(({ type, ...said }) => said) }),
  });
  const at = store.clock.now().toISOString();
  if (options.mail !== undefined) out.line(headMail(line, { origin, size, at, to: options.mail }).trimEnd());
  else out.line(options.note ? checkpoint.trimEnd() : line);
  if (dropped) out.line(LEDGER_LINES.dropped(dropped.by, size));
  if (stamped) out.line(LEDGER_LINES.stamped(stamped.by, timeText(stamped.at), size));
  return 0;
}
