import { timeText } from '../dossier/time-text.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { inStatesText, powderText } from '../report/phrases/powder.js';
import { buildSharesText } from '../report/phrases/powder-shares.js';
import { type Turned, turned } from '../web/turned.js';
import { pathPicture } from './path-picture.js';
import type { BuildShare, TraceMatch, TraceNode } from './traced.js';

/** What the page that finds anything shows of an answer: of each part its first rows, which lead to all of them. */

/** What people look for first among what was reached. */
const TOLD_APART = {
  metal: ['heat', 'receipt', 'powder-state'],
  people: ['person'],
  instruments: ['instrument'],
  results: ['result', 'result-set'],
} as const;
type ToldApart = keyof typeof TOLD_APART;
const APART = Object.keys(TOLD_APART) as ToldApart[];

/** Parts of an answer that may have thousands of rows. */
const OWN_PARTS = ['units', 'back', 'forward', 'signed', 'entered'] as const;
type OwnPart = (typeof OWN_PARTS)[number];
export const TRACE_PARTS = [...OWN_PARTS, ...APART] as const;
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
  const all = isApart(part) ? apart(match, part) : match[part];
  if (all === null || (!MAY_BE_EMPTY.has(part) && all.length === 0)) return undefined;
  const page = turned<object>(all, from, most);
  return { part, ...page, rows: page.rows.map(inWords) };
}

/** Moments and shares as people read them. */
const inWords = (row: {
  readonly at?: string;
  readonly since?: string | null;
  readonly shares?: readonly BuildShare[];
}): object => ({
  ...row,
  ...(row.shares === undefined ? {} : { shares: buildSharesText(row.shares) }),
  ...(row.at === undefined ? {} : { at: timeText(row.at) }),
  ...(row.since === undefined ? {} : { since: row.since === null ? '' : timeText(row.since) }),
});

const isApart = (part: TracePart): part is ToldApart => part in TOLD_APART;
const MAY_BE_EMPTY: ReadonlySet<TracePart> = new Set<OwnPart>(['back', 'forward', 'signed', 'entered']);

function apart({ back, forward }: Pick<TraceMatch, 'back' | 'forward'>, part: ToldApart): TraceNode[] {
  const kinds: readonly string[] = TOLD_APART[part];
  return [...(back ?? []), ...(forward ?? [])].filter(({ kind }) => kinds.includes(kind));
}

/** Pictures of the way, with their titles. */
const PATHS = [
  ['back', TRACE_LINES.back],
  ['forward', TRACE_LINES.forward],
] as const;

/** The first screen of a match. */
export function matchView(match: TraceMatch) {
  const parts = OWN_PARTS.map((part) => [part, rowsOf(match, part, 1, FIRST_ROWS)] as const);
  return {
    ...{ entry: match.entry, found: match.found, balance: match.balance },
    parts: Object.fromEntries(parts),
    powder: [...match.powder.map(powderText), inStatesText(match.inStates)].filter(Boolean),
    paths: PATHS.flatMap(([direction, title]) => {
      const earlier = match.earlier.filter((one) => one.direction === direction);
      const groups = pathPicture(match.entry, match[direction] ?? [], earlier);
      return groups.length === 0 ? [] : [{ direction, title, groups }];
    }),
    toldApart: APART.flatMap((part) => {
      const nodes = apart(match, part);
      const shown = nodes.slice(0, FIRST_ROWS);
      return nodes.length === 0 ? [] : [{ part, title: TRACE_LINES[part], nodes: shown, count: nodes.length }];
    }),
  };
}
