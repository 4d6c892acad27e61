import type { Verdict } from '../assessment/assessment.js';
import { powderShares } from '../assessment/powder-shares.js';
import type { TieName } from '../kinds/ties.js';
import { kindText } from '../report/phrases/kinds.js';
import { tieText } from '../report/phrases/ties.js';
import { farOf, type Reach, type Tie, type TracedEntry } from '../store/traces.js';
import { type PowderOrigin, shortKey, type TraceNode } from './traced.js';

/** What a walk reached, as an answer tells it: each thing with the ties by which it was reached. */

/** By serial. */
export type Verdicts = ReadonlyMap<string, Verdict | null>;

/** Ties by which a thing is made of what a build took. */
const IN_BUILD = 'built in' satisfies TieName;

/** Where the powder came from, of the thing itself and of each build that it was made in. */
export function powderOf(from: number, reach: Reach): PowderOrigin[] {
  const builds = reach.ties.filter(({ name, near }) => name === IN_BUILD && near === from).map(({ target }) => target);
  return [from, ...new Set(builds)].flatMap((id) => {
    const shares = powderShares(id, reach);
    return shares.length === 0 ? [] : [{ of: reach.entries.find((entry) => entry.id === id)!.key, shares }];
  });
}

/** Everything that was reached but where the walk began, the nearest first. */
export function nodesOf(from: number | undefined, { entries, ties }: Reach, verdicts: Verdicts): TraceNode[] {
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  // Grouped first: thousands of lots hang on one machine, and looking through all ties for each is their square.
  const nearestTo = new Map<number, Nearest[]>();
  for (const tie of ties) {
    const far = byId.get(farOf(tie))!;
    const other = byId.get(tie.near)!;
    if (other.depth !== far.depth - 1) continue;
    const known = nearestTo.get(far.id);
    if (known) known.push({ tie, other });
    else nearestTo.set(far.id, [{ tie, other }]);
  }
  return entries
    .filter((entry) => entry.id !== from)
    .sort((a, b) => a.depth - b.depth || compare(a.kind, b.kind) || compare(a.key, b.key))
    .map((entry) => asNode(entry, nearestTo.get(entry.id) ?? [], verdicts));
}

/** A tie by which something was reached, and what lies one step nearer. */
interface Nearest {
  readonly tie: Tie;
  readonly other: TracedEntry;
}

function viaText(nearest: readonly Nearest[]): string {
  const said = nearest.map(({ tie, other }) => ledText(tie, shortKey(other)));
  return [...new Set(said)].sort(compare).join('; ');
}

/** A tie that leads on from one step nearer to what was asked for. It is said from its source to its target. */
export function ledText(
  { name, massG, count, near: from, source }: Pick<Tie, 'name' | 'massG' | 'count' | 'near' | 'source'>,
  near: string,
): string {
  const much = `${massG === null ? '' : `, ${massG} g`}${count === null ? '' : ` (${count})`}`;
  const words = tieText(name);
  return from === source ? `${near}: ${words}${much}` : `${words} ${near}${much}`;
}

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** How it was reached is said when it is asked for: a page shows the first of thousands. */
export const asNode = (
  { kind, key, name, revision, depth }: Omit<TracedEntry, 'id'>,
  nearest: readonly Nearest[],
  verdicts: Verdicts,
): TraceNode => ({
  ...{ kind, title: kindText(kind), key, name, revision, depth },
  get via() {
    return viaText(nearest);
  },
  get nearer() {
    return [...new Set(nearest.map(({ other }) => other))].map(({ kind: of, key: code }) => ({ kind: of, key: code }));
  },
  verdict: kind === 'implant' ? (verdicts.get(key) ?? null) : null,
});
