import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { Store } from '../store/store.js';
import { rotateKey } from './key-rotation.js';

export async function run(context: INestApplicationContext, out: Output, options: { reason: string }): Promise<number> {
  const rotated = await rotateKey(context.get(Store), systemActor(), options.reason);
  out.object(rotated);
  out.line(`Key ${rotated.fingerprint} replaces ${rotated.replaced}. Tell whoever keeps the fingerprint.`);
  return 0;
}
