import { digestOf } from '../dossier/canonical.js';
import type { FindingDetail, JoinedCause } from '../dossier/finding-detail.js';
import type { LogFinding } from '../dossier/schema.js';
import { reportedValue, type ScannedChannel } from './channels.js';
import { LEVELS, type Level } from './levels.js';
import { compareText, Places } from './places.js';
import { timestampText } from './timestamp.js';

/** What a scan can find. The words for it stand in src/report/phrases/log-finding.ts. */
export type FindingRule =
  | 'excursion'
  | 'set value not as in the recipe'
  | 'break of inert atmosphere'
  | 'missing values'
  | 'dew point not converted'
  | 'gap'
  | 'duplicate time'
  | 'files overlap'
  | 'files disagree'
  | 'observations lost'
  | 'stream names two versions'
  | 'machine condition'
  | 'time going back'
  | 'rows rejected'
  | 'log starts late'
  | 'log ends early'
  | 'logged with open chamber'
  | 'channel not logged'
  | 'zone never logged'
  | 'step never logged'
  | 'layers never logged'
  | 'step repeated early'
  | 'step out of order'
  | 'step too short'
  | 'step too long'
  | 'unknown zone'
  | 'unknown step'
  | 'layers outside the zone';

/** A finding while the scan runs. Times in microseconds since 1970, true time. */
export interface FindingDraft {
  readonly rule: FindingRule;
  readonly level: Level;
  readonly channel: number | null;
  readonly places: Places;
  /** What exactly, where the rule does not say it: the unknown zone, the reason of a rejection. */
  readonly what?: FindingDetail;
  readonly direction?: 'high' | 'low';
  startUs: number | null;
  endUs: number | null;
  /** Sum of the durations, so that of merged findings is shorter than from start to end. */
  durationUs: number | null;
  /** Rows of the log that show it. */
  rows: number;
  lineFrom: number | null;
  lineTo: number | null;
  /** The value farthest beyond its limit, the limit that held there, both in the unit of the channel. */
  worst?: number;
  limit?: number;
  /** How far `worst` is beyond `limit`. */
  worstExcess?: number;
  /** Area beyond the limit, unit of the channel × microseconds; told as `integralS`, unit × seconds. */
  integral?: number;
  /** What a break of the inert atmosphere joins, and the most severe level among it. */
  joins?: JoinedCause[];
  mostSevere?: Level;
}

/** So many findings of one kind stand alone; what comes after is joined into one, so that memory stays bounded. */
const MOST_OF_ONE_KIND = 1000;
/** These can occur at every row and are one finding for the file, or one for each reason. */
const ALWAYS_JOINED: ReadonlySet<FindingRule> = new Set([
  'duplicate time',
  'time going back',
  'rows rejected',
  'dew point not converted',
]);

interface Kept {
  readonly draft: FindingDraft;
  occurrences: number;
}

/** Collects the findings of one scan. */
export class FindingList {
  private readonly kept: Kept[] = [];
  private readonly counts = new Map<string, number>();
  private readonly joined = new Map<string, Kept>();

  add(draft: FindingDraft): void {
    const kind = [draft.rule, draft.channel, draft.level, draft.direction, detailText(draft)].join('|');
    const count = (this.counts.get(kind) ?? 0) + 1;
    this.counts.set(kind, count);
    const most = ALWAYS_JOINED.has(draft.rule) ? 0 : MOST_OF_ONE_KIND;
    const earlier = this.joined.get(kind);
    if (earlier !== undefined) {
      join(earlier.draft, draft);
      earlier.occurrences += 1;
      return;
    }
    const kept = { draft, occurrences: 1 };
    this.kept.push(kept);
    if (count > most) this.joined.set(kind, kept);
  }

  /** In order of time, those about the whole build first. */
  finish(build: string, channels: readonly ScannedChannel[]): LogFinding[] {
    return this.kept
      .sort((a, b) => compareDrafts(a.draft, b.draft))
      .map(({ draft, occurrences }) => asFinding(draft, occurrences, build, channels));
  }
}

function compareDrafts(a: FindingDraft, b: FindingDraft): number {
  const start = (a.startUs ?? Number.NEGATIVE_INFINITY) - (b.startUs ?? Number.NEGATIVE_INFINITY);
  if (start < 0 || start > 0) return start;
  return (
    compareText(a.rule, b.rule) ||
    (a.channel ?? -1) - (b.channel ?? -1) ||
    LEVELS.indexOf(a.level) - LEVELS.indexOf(b.level) ||
    compareText(detailText(a), detailText(b)) ||
    (a.lineFrom ?? 0) - (b.lineFrom ?? 0)
  );
}

/** One detail as text, to tell details apart and to bring them into an order. */
const detailText = ({ what }: FindingDraft): string => (what === undefined ? '' : JSON.stringify(what));

function join(into: FindingDraft, next: FindingDraft): void {
  into.places.addAll(next.places);
  into.startUs = least(into.startUs, next.startUs);
  into.endUs = greatest(into.endUs, next.endUs);
  into.durationUs = into.durationUs === null ? next.durationUs : into.durationUs + (next.durationUs ?? 0);
  into.rows += next.rows;
  into.lineFrom = least(into.lineFrom, next.lineFrom);
  into.lineTo = greatest(into.lineTo, next.lineTo);
  if (next.integral !== undefined) into.integral = (into.integral ?? 0) + next.integral;
  if (next.worstExcess !== undefined && next.worstExcess > (into.worstExcess ?? Number.NEGATIVE_INFINITY)) {
    Object.assign(into, { worst: next.worst, limit: next.limit, worstExcess: next.worstExcess });
  }
}

/** The identity is taken over rule, subjects and facts alone, so that a decision holds while these are unchanged. */
function asFinding(
  draft: FindingDraft,
  occurrences: number,
  build: string,
  channels: readonly ScannedChannel[],
): LogFinding {
  const channel = draft.channel === null ? undefined : channels[draft.channel]!;
  const body = {
    build,
    rule: draft.rule,
    level: draft.level,
    channel: channel?.name ?? null,
    ucum: channel?.ucum ?? null,
    startedAt: draft.startUs === null ? null : timestampText(draft.startUs),
    endedAt: draft.endUs === null ? null : timestampText(draft.endUs),
    places: draft.places.list(),
    steps: draft.places.stepList(),
    facts: factsOf(draft, occurrences, channel),
  };
  return { id: digestOf(body), ...body };
}

function factsOf(draft: FindingDraft, occurrences: number, channel: ScannedChannel | undefined): LogFinding['facts'] {
  const worst = draft.worst === undefined || channel === undefined ? draft.worst : reportedValue(channel, draft.worst);
  const facts = {
    what: draft.what,
    direction: draft.direction,
    worst,
    limit: draft.limit,
    durationMs: draft.durationUs === null ? undefined : draft.durationUs / 1000,
    integralS: draft.integral === undefined ? undefined : draft.integral / 1_000_000,
    joins: draft.joins,
    mostSevere: draft.mostSevere,
    rows: draft.rows > 0 ? draft.rows : undefined,
    // Line 0 stands for none: rows of several files have no common count.
    lineFrom: draft.lineFrom || undefined,
    lineTo: draft.lineTo || undefined,
    occurrences: occurrences > 1 ? occurrences : undefined,
  };
  return Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== undefined)) as LogFinding['facts'];
}

function least(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.min(a, b);
}

function greatest(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.max(a, b);
}

/** A finding about places alone, without a channel. */
export function placeFinding(
  rule: FindingRule,
  level: Level,
  places: Places,
  facts: Partial<Pick<FindingDraft, 'startUs' | 'endUs' | 'durationUs' | 'rows' | 'lineFrom' | 'lineTo'>> & {
    readonly what?: FindingDetail;
    readonly channel?: number;
  } = {},
): FindingDraft {
  const { what, channel = null, ...rest } = facts;
  const nothing = { startUs: null, endUs: null, durationUs: null, rows: 0, lineFrom: null, lineTo: null };
  const draft: FindingDraft = { rule, level, channel, places, ...nothing, ...rest };
  return what === undefined ? draft : { ...draft, what };
}

/** Everything in the build. */
export function everywhere(): Places {
  const places = new Places();
  places.add(null, null);
  return places;
}
