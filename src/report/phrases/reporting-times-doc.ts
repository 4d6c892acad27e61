import { withTable } from '../../base/written-table.js';
import { REPORTING_TIMES } from '../../kinds/after-release/reporting-times.js';

/** The document on traces with its table of times to report made anew. @throws Error when the marks are not there. */
export function withReportingTimes(text: string): string {
  const rows = REPORTING_TIMES.map(({ law, clause, what, days, counted, source }) => [
    ...[law, clause, what, days === null ? 'no number of days' : `${days} ${counted}`, source],
  ]);
  const heads = ['law', 'clause', 'what', 'at the latest', 'source'];
  return withTable(text, { file: 'docs/trace.md', mark: 'reporting times', rows: [heads, ...rows] });
}
