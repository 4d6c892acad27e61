import { timeText } from '../dossier/time-text.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { powderText } from '../report/phrases/powder.js';
import { type Turned, turned } from '../web/turned.js';
import { pathPicture } from './path-picture.js';
import type { TraceMatch } from './traced.js';

/** What the page that finds anything shows of an answer: of each part its first rows, which lead to all of them. */

/** Parts of an answer that may have thousands of rows. */
export const TRACE_PARTS = ['units', 'back', 'forward', 'signed', 'entered'] as const;
export type TracePart = (typeof TRACE_PARTS)[number];

/** Rows of a part on the first screen. */
const FIRST_ROWS = 20;
/** Rows on a page of one part. */
export const ROWS_ON_A_PAGE = 100;

export interface PartRows extends Turned<object> {
  readonly part: TracePart;
}

/** Rows of one part in words, from a place on; undefined where the answer has no such part. */
export function rowsOf(match: TraceMatch, part: TracePart, from = 1, most = ROWS_ON_A_PAGE): PartRows | undefined {
  const all: readonly object[] | null = match[part];
  if (all === null || (part === 'units' && all.length === 0)) return undefined;
  const page = turned(all, from, most);
  return { part, ...page, rows: page.rows.map(withTimes) };
}

/** Moments as people read them. */
const withTimes = (row: { readonly at?: string; readonly since?: string | null }): object => ({
  ...row,
  ...(row.at === undefined ? {} : { at: timeText(row.at) }),
  ...(row.since === undefined ? {} : { since: row.since === null ? '' : timeText(row.since) }),
});

/** What people look for first among what was reached. */
const TOLD_APART: readonly (readonly [title: string, kinds: readonly string[]])[] = [
  [TRACE_LINES.metal, ['heat', 'receipt', 'powder-state']],
  [TRACE_LINES.people, ['person']],
  [TRACE_LINES.instruments, ['instrument']],
  [TRACE_LINES.results, ['result', 'result-set']],
];

/** Pictures of the way, with their titles. */
const PATHS = [
  ['back', TRACE_LINES.back],
  ['forward', TRACE_LINES.forward],
] as const;

/** The first screen of a match. */
export function matchView(match: TraceMatch) {
  const named = [...(match.back ?? []), ...(match.forward ?? [])];
  const parts = TRACE_PARTS.map((part) => [part, rowsOf(match, part, 1, FIRST_ROWS)] as const);
  return {
    ...{ entry: match.entry, found: match.found, balance: match.balance },
    parts: Object.fromEntries(parts),
    powder: match.powder.map(powderText),
    paths: PATHS.flatMap(([direction, title]) => {
      const earlier = match.earlier.filter((one) => one.direction === direction);
      const groups = pathPicture(match.entry, match[direction] ?? [], earlier);
      return groups.length === 0 ? [] : [{ direction, title, groups }];
    }),
    toldApart: TOLD_APART.flatMap(([title, kinds]) => {
      const nodes = named.filter((node) => kinds.includes(node.kind));
      return nodes.length === 0 ? [] : [{ title, nodes: nodes.slice(0, FIRST_ROWS), count: nodes.length }];
    }),
  };
}
