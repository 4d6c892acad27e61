import type { Output } from '../cli/output.js';
import type { IntegrityReport } from './integrity.js';

/** What the look at a whole data folder found, for a terminal. */
export function sayIntegrity({ files, faults, unreferenced }: IntegrityReport, out: Output): void {
  out.line(`${files} files looked at: ${faults.length === 0 ? 'all as they were stored' : `${faults.length} faults`}.`);
  for (const { what, name, says } of faults) out.line(`  ${what} ${name}: ${says}`);
  if (unreferenced.length > 0) out.line(`${unreferenced.length} files that nothing names; they are left alone.`);
}
