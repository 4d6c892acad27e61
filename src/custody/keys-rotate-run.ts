import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { Store } from '../store/store.js';
import { rotateKey } from './key-rotation.js';

export async function run(context: INestApplicationContext, out: Output, options: { reason: string }): Promise<number> {
  const rotated = await rotateKey(context.get(Store), systemActor(), options.reason);
  out.object(rotated);
  out.line(CUSTODY_LINES.rotated(rotated.fingerprint, rotated.replaced));
  return 0;
}
