import { Injectable } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { balanceOf } from '../dossier/unit-places.js';
import type { Direction } from '../kinds/ties.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotOverview } from '../lots/lot-overview.js';
import { CANNOT_KNOW } from '../report/phrases/cannot-know.js';
import { identifierText } from '../report/phrases/identifiers.js';
import { entryText, kindText } from '../report/phrases/kinds.js';
import { balanceText, holderText, placeStateText } from '../report/phrases/places.js';
import { earlierTieText } from '../report/phrases/ties.js';
import { Store } from '../store/store.js';
import { narrowed, type Reach, type TracedEntry } from '../store/traces.js';
import { type Identified, identify } from './identifiers.js';
import { comparePack } from './pack-code.js';
import { accountName, enteredBy, signedBy } from './person-acts.js';
import { placedUnits, unitsAsRecorded } from './placed-units.js';
import { NO_EXPOSURE, powderExposure } from './powder-exposure.js';
import { asNode, ledText, nodesOf, powderOf, type Verdicts } from './trace-nodes.js';
import {
  type BuildShare,
  type EarlierNode,
  shortKey,
  type TraceCandidate,
  type TraceMatch,
  type TraceNode,
  type TraceReport,
} from './traced.js';
import { isWithin, NO_USES, whenUsed } from './when-used.js';

export interface Directions {
  readonly back?: boolean;
  readonly forward?: boolean;
  /** A moment with its offset: the answer is given from what was on record then. Verdicts are those of now, and left out. */
  readonly asOf?: string | undefined;
  /** Moments with their offsets: only what was used between them, with what that leads to. */
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

/** More things of one name than anybody wants traced at once. */
const MOST_TRACED = 8;

/** Answers where something came from and where it went. */
@Injectable()
export class Tracer {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
    private readonly overview: LotOverview,
  ) {}

  /**
   * Traces any identifier: a serial, coupon, lot, build, heat (by its bare number too), receipt, powder state, recipe,
   * instrument, person… or what a scanned code of GS1 names. Both directions unless one is asked for.
   * @throws NotFoundError when nothing has this identifier; AppError BAD_INPUT for a code that breaks its grammar, or
   * whose lot is not the lot of its serial.
   */
  async trace(id: string, directions: Directions = {}): Promise<TraceReport> {
    const { matches, candidates } = await this.search(id, directions);
    if (matches.length + candidates.length === 0) throw new NotFoundError('thing', id);
    const { back, forward, from = null, to = null, asOf = null } = directions;
    const direction = Boolean(back) === Boolean(forward) ? null : back ? 'back' : 'forward';
    const asked = { asked: id, narrowed: { direction, from, to, asOf } } as const;
    return { ...asked, head: await this.head(asOf ?? undefined), matches, candidates, cannotKnow: CANNOT_KNOW };
  }

  /** Size and root of the audit trail, now or at a moment: by these two answers are compared. */
  async head(asOf?: string): Promise<TraceReport['head']> {
    const size = (await this.sizeAt(asOf)) ?? (await this.store.read.ledger.size());
    return { size, root: await this.store.read.ledger.root(size) };
  }

  /** @throws AppError BAD_INPUT for a moment that lies ahead, or before the first entry. */
  private async sizeAt(asOf: string | undefined): Promise<number | undefined> {
    if (asOf === undefined) return undefined;
    const now = this.store.clock.now().toISOString();
    if (!(Date.parse(asOf) <= Date.parse(now))) {
      throw new AppError('BAD_INPUT', `as of ${asOf}: expected a moment that is not after ${now}, which it is now`);
    }
    const size = await this.store.read.ledger.sizeAt(asOf);
    if (size > 0) return size;
    throw new AppError('BAD_INPUT', `as of ${asOf}: expected a moment not before the first entry of the audit trail`);
  }

  /** The same as a search, which may find nothing. */
  async search(asked: string, directions: Directions = {}): Promise<Pick<TraceReport, 'matches' | 'candidates'>> {
    const now = this.store.clock.now();
    const asOf = await this.sizeAt(directions.asOf);
    const { read } = this.store;
    const checkFindings = () => this.checkFindings();
    const identified = await identify({ read, text: asked, asOf, now, checkFindings });
    const named = await this.withAccount(identified, asked, asOf);
    if (named.length > MOST_TRACED) return { matches: [], candidates: named.map(candidateOf) };
    const matches: TraceMatch[] = [];
    for (const one of named) {
      matches.push(await this.matchOf(one, directions, asOf));
      await comparePack(read, one);
    }
    return { matches, candidates: [] };
  }

  private async checkFindings() {
    return [...(await this.current.units())].flatMap(([lot, { checks }]) =>
      checks.flatMap(({ findings }) => findings.map(({ id }) => ({ lot, id }))),
    );
  }

  /** Nothing names a person who has an account and has not signed yet. */
  private async withAccount(
    named: readonly Identified[],
    asked: string,
    asOf: number | undefined,
  ): Promise<readonly Identified[]> {
    if (named.some(({ kind, key }) => kind === 'person' && key === asked)) return named;
    if ((await accountName(this.store.read, asked, asOf)) === undefined) return named;
    return [{ kind: 'person', key: asked, as: null }, ...named];
  }

  private async matchOf(one: Identified, directions: Directions, asOf: number | undefined): Promise<TraceMatch> {
    const { back, forward, asOf: moment } = directions;
    const id = one.id ?? (await this.idOf(one));
    const both = !back && !forward;
    const came = both || back ? await this.reach({ ...one, id }, 'back', directions, asOf) : undefined;
    const went = both || forward ? await this.reach({ ...one, id }, 'forward', directions, asOf) : undefined;
    const reached = [...(came?.entries ?? []), ...(went?.entries ?? [])];
    const { inUnits, inStates } =
      went && id !== undefined
        ? await powderExposure(this.store.read, { id, kind: one.kind }, went, asOf)
        : NO_EXPOSURE;
    const { units, balance } = await this.unitsAmong(reached, inUnits, asOf);
    const verdicts: Verdicts = new Map(units.map(({ serial, verdict }) => [serial, verdict]));
    return {
      entry: await this.self({ ...one, id }, (came ?? went)!.entries, verdicts, asOf),
      found: one.as === null ? null : identifierText(one.as),
      ...{ balance, units },
      powder: came && id !== undefined ? powderOf(id, came) : [],
      inStates,
      back: came ? nodesOf(id, came, verdicts) : null,
      forward: went ? nodesOf(id, went, verdicts) : null,
      earlier: [
        ...(came ? await this.earlierIn('back', came, asOf) : []),
        ...(went ? await this.earlierIn('forward', went, asOf) : []),
      ],
      signed: one.kind === 'person' ? await signedBy(this.store.read, one.key, asOf) : null,
      entered: one.kind === 'person' ? await enteredBy(this.store.read, one.key, moment) : null,
    };
  }

  private async idOf({ kind, key }: Identified): Promise<number | undefined> {
    return (await this.store.read.trace.named(key)).find((one) => one.kind === kind && one.key === key)?.id;
  }

  private async reach(
    { id, revision }: { readonly id?: number | undefined; readonly revision?: number | undefined },
    direction: Direction,
    { from, to }: Pick<Directions, 'from' | 'to'> = {},
    asOf?: number,
  ): Promise<Reach> {
    const asked = id === undefined ? [] : [id];
    const whole = await this.store.read.trace.reach(asked, direction, asOf);
    if (from === undefined && to === undefined && revision === undefined) return whole;
    const used = from === undefined && to === undefined ? NO_USES : await whenUsed(this.store.read, whole);
    const [first, last] = interval(from, to);
    return narrowed(whole, asked, direction, {
      use: ({ id: entry }) => isWithin(used.get(entry), first, last),
      // Another revision of it was used there.
      tie: (tie) => revision === undefined || tie.target !== id || tie.revision === null || tie.revision === revision,
    });
  }

  /** Ties of superseded revisions around what was reached. What the walk names and goes no further from has none. */
  private async earlierIn(direction: Direction, { entries, ties }: Reach, asOf?: number): Promise<EarlierNode[]> {
    const byId = new Map(entries.map((entry) => [entry.id, entry]));
    const open = new Set(ties.map(({ near }) => near));
    for (const { id, depth } of entries) if (depth === 0) open.add(id);
    return (await this.store.read.trace.earlier([...open], direction, asOf)).flatMap((tie) => {
      const near = byId.get(tie.near);
      if (near === undefined) return [];
      const { kind, key } = tie;
      const said = ledText({ ...tie, massG: null, count: null }, shortKey(near));
      const nearer = { kind: near.kind, key: near.key };
      return [{ kind, key, title: kindText(kind), direction, nearer, via: earlierTieText(said, tie.revision) }];
    });
  }

  /** Where the implants of an answer are, and how many were made. */
  private async unitsAmong(
    entries: readonly TracedEntry[],
    shares: ReadonlyMap<string, readonly BuildShare[]>,
    asOf: number | undefined,
  ): Promise<Pick<TraceMatch, 'balance' | 'units'>> {
    const keysOf = (kind: string) => [...new Set(entries.flatMap((one) => (one.kind === kind ? [one.key] : [])))];
    const serials = keysOf('implant');
    if (serials.length === 0) return { balance: null, units: [] };
    const { read } = this.store;
    const units =
      asOf === undefined
        ? await placedUnits({ read, current: this.current, overview: this.overview }, serials, keysOf('lot'))
        : await unitsAsRecorded(read, serials, asOf);
    return {
      balance: balanceText(balanceOf(units.map(({ serial, ...unit }) => ({ key: serial, ...unit })))),
      units: units.map(({ serial, lot, verdict, since, by, holder, ...state }) => ({
        ...{ serial, lot, verdict, since },
        place: placeStateText(state),
        holder: holderText(holder),
        by: by === null ? null : entryText(by.kind, by.key, null),
        shares: shares.get(serial) ?? [],
      })),
    };
  }

  private async self(
    { id, kind, key }: Pick<Identified, 'kind' | 'key'> & { readonly id: number | undefined },
    entries: readonly TracedEntry[],
    verdicts: Verdicts,
    asOf: number | undefined,
  ): Promise<TraceNode> {
    const { name, revision } = entries.find((entry) => entry.id === id) ?? { name: '', revision: 0 };
    const known = revision === 0 && kind === 'person' ? await accountName(this.store.read, key, asOf) : name;
    return asNode({ kind, key, name: known ?? '', revision, depth: 0 }, [], verdicts);
  }
}

/** @throws AppError BAD_INPUT for an interval the wrong way round. */
function interval(from: string | undefined, to: string | undefined): [from: number, to: number] {
  const first = from === undefined ? Number.NEGATIVE_INFINITY : Date.parse(from);
  const last = to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to);
  if (first <= last) return [first, last];
  throw new AppError('BAD_INPUT', `from ${from} to ${to}: expected a beginning that is not after the end; swap them`);
}

const candidateOf = ({ kind, key, as }: Identified): TraceCandidate => ({
  kind,
  title: kindText(kind),
  key,
  found: as === null ? null : identifierText(as),
});
