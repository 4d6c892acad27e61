import type { Output } from '../cli/output.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { type IntegrityReport, inWords } from './integrity.js';

/** The report as programs get it: each fault with its words beside code and facts. */
export const integrityInWords = (report: IntegrityReport) => ({
  ...report,
  faults: report.faults.map((fault) => ({ ...inWords(fault), ...fault.fault })),
});

/** What the look at a whole data folder found, for a terminal. */
export function sayIntegrity({ files, faults, unreferenced }: IntegrityReport, out: Output): void {
  out.line(CUSTODY_LINES.looked(files, faults.length));
  for (const { what, name, says } of faults.map(inWords)) out.line(`  ${CUSTODY_LINES.fault(what, name, says)}`);
  if (unreferenced.length > 0) out.line(CUSTODY_LINES.unreferenced(unreferenced.length));
}
