import type { RejectionCode } from '../../dossier/finding-detail.js';
import type { Rejection, RejectionCounts } from '../../process-logs/rejection.js';
import { counted } from './counted.js';

/** Why a line of a log was not used. */
export const REJECTION_REASONS: Readonly<Record<RejectionCode, string>> = {
  'line too long': 'line too long',
  timestamp: 'timestamp',
  layer: 'layer',
  zone: 'zone',
  step: 'step',
  number: 'number',
  'time series': 'time series',
  'number of fields': 'number of fields',
  quotes: 'quotes',
  'control character': 'control character',
  encoding: 'encoding',
  'time going back': 'time going back',
  'unfinished line': 'unfinished line',
};

/** What stood in a line of a log that was not used, in words, by reason; for all others the beginning of the line. */
export const REJECTED_FOUND: { readonly [Code in Rejection['code']]?: (rejection: Rejection) => string } = {
  'line too long': () => 'more than 65 536 bytes',
  'number of fields': ({ found, fields }) =>
    fields === undefined ? found : `${fields.found} instead of ${fields.expected}: ${found}`,
  'time series': ({ found }) =>
    `${found}, which do not fit each other, or no rate where the channel map has none either`,
  'time going back': ({ found, latest }) => (latest === undefined ? found : `${found} after ${latest}`),
};

const foundText = (rejection: Rejection): string => REJECTED_FOUND[rejection.code]?.(rejection) ?? rejection.found;

/** The log of a build as it was taken in. */
export const TAKEN_LOG = {
  log: (build: string, rows: number, lost: string, findings: number) =>
    `log of ${build}: ${rows} rows${lost}, ${counted(findings, 'finding')}`,
  count: (count: number, reason: string) => `${count} for ${reason}`,
  rejected: (counts: readonly string[]) => `, rejected ${counts.join(', ')}`,
  first: ({ line, file }: Rejection, found: string) =>
    `; the first is line ${line}${file ? ` of ${file}` : ''}: ${found}`,
};

interface TakenLog {
  readonly build: string;
  readonly rows: number;
  readonly rejected: RejectionCounts;
  readonly firstRejected: Rejection | null;
  readonly findings: number;
}

/** `log of M1-101: 239 rows, rejected 2 for number; the first is line 42: "ERR", 3 findings`. */
export function takenLogText({ build, rows, rejected, firstRejected: first, findings }: TakenLog): string {
  const counts = Object.entries(rejected).map(([code, count]) =>
    TAKEN_LOG.count(count, REJECTION_REASONS[code as RejectionCode]),
  );
  const lost = first === null ? '' : TAKEN_LOG.rejected(counts) + TAKEN_LOG.first(first, foundText(first));
  return TAKEN_LOG.log(build, rows, lost, findings);
}
