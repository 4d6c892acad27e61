import { digestOf } from '../dossier/canonical.js';
import type { LogFinding } from '../dossier/schema.js';
import { type Coverage, joined } from './coverage.js';

/**
 * What people see and decide on: one log finding, or many alike as one. A group is a log finding itself, with an identity
 * of its own, the places and the times of all its members, the worst of their values and the sums of what adds up.
 */
export interface JudgedFinding extends LogFinding {
  /** The findings of the scan that it stands for: itself alone, or every member of the group. */
  readonly members: readonly LogFinding[];
}

/** So many findings that are alike stand alone; nobody reads more of them one by one. */
const MOST_ALONE = 10;

export const isGroup = ({ members }: Pick<JudgedFinding, 'members'>): boolean => members.length > 1;

/** Kind of what is signed when people decide on it. */
export const judgedKind = (finding: Pick<JudgedFinding, 'members'>): 'log finding' | 'log finding group' =>
  isGroup(finding) ? 'log finding group' : 'log finding';

/**
 * Puts findings together that have build, rule, channel, level, side and cause in common and touch the same implants and
 * coupons, where there are more than ten of them; so a decision on a group has the same effect on each unit as the same
 * decision on every member. Each group stands where its first member stood.
 * @param coverage what a finding touches.
 */
export function putTogether(
  lot: string,
  findings: readonly LogFinding[],
  coverage: (finding: LogFinding) => Coverage,
): JudgedFinding[] {
  const alike = new Map<string, LogFinding[]>();
  for (const finding of findings) {
    const { implants, coupons } = coverage(finding);
    const { build, rule, channel, level, facts } = finding;
    const key = JSON.stringify([build, rule, channel, level, facts.direction, facts.what, implants, coupons]);
    const known = alike.get(key);
    if (known) known.push(finding);
    else alike.set(key, [finding]);
  }
  const judged = new Map<LogFinding, JudgedFinding>();
  for (const members of alike.values()) {
    if (members.length > MOST_ALONE) judged.set(members[0]!, groupOf(lot, members));
    else for (const member of members) judged.set(member, { ...member, members: [member] });
  }
  return findings.flatMap((finding) => judged.get(finding) ?? []);
}

/** The identity is taken over the identities of the members: a decision holds while each of them is unchanged. */
function groupOf(lot: string, members: readonly LogFinding[]): JudgedFinding {
  const [{ build, rule, level, channel, ucum }] = members as readonly [LogFinding];
  const ids = members.map(({ id }) => id).sort();
  const times = (of: 'startedAt' | 'endedAt') => members.flatMap((member) => member[of] ?? []).sort();
  return {
    id: digestOf({ lot, build, rule, level, channel, members: ids }),
    ...{ build, rule, level, channel, ucum },
    startedAt: times('startedAt')[0] ?? null,
    endedAt: times('endedAt').at(-1) ?? null,
    places: placesOf(members),
    steps: [...new Set(members.flatMap(({ steps }) => steps))].sort(),
    facts: factsOf(members),
    members,
  };
}

function placesOf(members: readonly LogFinding[]): LogFinding['places'] {
  const zones = new Map<string | null, LogFinding['places']>();
  for (const place of members.flatMap(({ places }) => places)) {
    const known = zones.get(place.zone);
    if (known) known.push(place);
    else zones.set(place.zone, [place]);
  }
  return [...zones].flatMap(([zone, places]): LogFinding['places'] => {
    const ranges = places.flatMap(({ layerFrom, layerTo }) =>
      layerFrom === null || layerTo === null ? [] : [{ from: layerFrom, to: layerTo }],
    );
    if (ranges.length < places.length) return [{ zone, layerFrom: null, layerTo: null }];
    return joined(ranges).map(({ from, to }) => ({ zone, layerFrom: from, layerTo: to }));
  });
}

type Facts = LogFinding['facts'];

/** What adds up, the longest, the first and last line, and the value farthest beyond its limit. */
function factsOf(members: readonly LogFinding[]): Facts {
  type Number = 'durationMs' | 'integralS' | 'rows' | 'lineFrom' | 'lineTo';
  const numbers = (name: Number) => members.flatMap(({ facts }) => facts[name] ?? []);
  const sum = (name: Number) => addedUp(numbers(name));
  const worst = members.reduce((one, other) => (excessOf(other) > excessOf(one) ? other : one)).facts;
  const [{ facts: first }] = members as readonly [LogFinding];
  const facts: { [Name in keyof Facts]: Facts[Name] | undefined } = {
    what: first.what,
    direction: first.direction,
    worst: worst.worst,
    limit: worst.limit,
    durationMs: sum('durationMs'),
    longestMs: numbers('durationMs').length === 0 ? undefined : greatest(numbers('durationMs')),
    integralS: sum('integralS'),
    rows: sum('rows'),
    lineFrom: numbers('lineFrom').length === 0 ? undefined : -greatest(numbers('lineFrom').map((line) => -line)),
    lineTo: numbers('lineTo').length === 0 ? undefined : greatest(numbers('lineTo')),
    // A member may be joined from several itself.
    occurrences: addedUp(members.map(({ facts: own }) => own.occurrences ?? 1)),
  };
  return Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== undefined)) as Facts;
}

const addedUp = (values: readonly number[]): number | undefined =>
  values.length === 0 ? undefined : Number(values.reduce((sum, value) => sum + value, 0).toPrecision(9));

const greatest = (values: readonly number[]): number => values.reduce((most, value) => Math.max(most, value));

function excessOf({ facts: { worst, limit, direction } }: LogFinding): number {
  if (worst === undefined || limit === undefined) return Number.NEGATIVE_INFINITY;
  if (direction === undefined) return Math.abs(worst - limit);
  return direction === 'low' ? limit - worst : worst - limit;
}
