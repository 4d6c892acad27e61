import type { Output } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { runDemo } from './run-demo.js';

export async function run(out: Output, { data = 'var/demo' }: CommonOptions): Promise<number> {
  const result = await runDemo({ folder: data, say: (line = '') => out.line(line) });
  out.object(result);
  return 0;
}
