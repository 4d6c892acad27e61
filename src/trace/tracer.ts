import { Injectable } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import type { Meaning, Role } from '../dossier/statement.js';
import { kindTitle } from '../kinds/catalogue.js';
import { subjectText } from '../report/phrases/signatures.js';
import { Store } from '../store/store.js';
import type { Tie, TracedEntry } from '../store/traces.js';

export interface TraceNode {
  readonly kind: string;
  readonly title: string;
  readonly key: string;
  readonly name: string;
  /** 0 where there is no document: a person who has an account alone. */
  readonly revision: number;
  /** Number of ties between this and what was asked for. */
  readonly depth: number;
  /** The tie by which it was reached, with masses where the tie has one. */
  readonly via: string;
}

export interface TraceMatch {
  readonly entry: TraceNode;
  /** What it was made of and by: recipe, powder, heats, gas, machine, people. */
  readonly back: readonly TraceNode[] | null;
  /** What was made from or with it. */
  readonly forward: readonly TraceNode[] | null;
  /** Of a person: what they signed, the latest first. Null for everything else. */
  readonly signed: readonly SignedAct[] | null;
}

/** One statement as the trace of a person tells it. */
export interface SignedAct {
  readonly at: string;
  readonly meaning: Meaning;
  /** What it covers: `lot file L-1, L-1-I1, L-1-I2`. */
  readonly what: string;
  readonly role: Role;
  readonly reason: string | null;
  readonly digest: string;
}

export interface TraceReport {
  readonly asked: string;
  readonly matches: readonly TraceMatch[];
}

interface Directions {
  readonly back?: boolean;
  readonly forward?: boolean;
}

/** Answers where something came from and where it went. */
@Injectable()
export class Tracer {
  constructor(private readonly store: Store) {}

  /**
   * Traces any identifier: a serial, coupon, lot, build, heat (by its bare number too), receipt, powder state, recipe,
   * instrument, person… Both directions unless one is asked for.
   * @throws NotFoundError when nothing has this identifier.
   */
  async trace(id: string, directions: Directions = {}): Promise<TraceReport> {
    const matches = await this.matches(id, directions);
    if (matches.length === 0) throw new NotFoundError('thing', id);
    return { asked: id, matches };
  }

  /** The same as a search, which may find nothing. */
  async matches(id: string, directions: Directions = {}): Promise<TraceMatch[]> {
    const both = !directions.back && !directions.forward;
    const entries = await this.store.read.trace.named(id);
    const matches: TraceMatch[] = [];
    if (!entries.some(({ kind, key }) => kind === 'person' && key === id)) matches.push(...(await this.accountOf(id)));
    for (const entry of entries) {
      const back = both || directions.back ? await this.store.read.trace.reach(entry.id, 'back') : undefined;
      const forward = both || directions.forward ? await this.store.read.trace.reach(entry.id, 'forward') : undefined;
      const self = (back ?? forward)!.entries.find((item) => item.id === entry.id)!;
      matches.push({
        entry: asNode(self, ''),
        back: back ? nodesOf(entry.id, back, 'back') : null,
        forward: forward ? nodesOf(entry.id, forward, 'forward') : null,
        signed: entry.kind === 'person' ? await this.signedBy(entry.key) : null,
      });
    }
    return matches;
  }

  /** Whoever has an account and no document: nothing is tied to them but what they signed. */
  private async accountOf(person: string): Promise<TraceMatch[]> {
    for (const { event } of await this.store.read.events.ofTypes(['account-made'])) {
      if (event.type !== 'account-made' || event.person !== person) continue;
      const entry = { kind: 'person', title: kindTitle('person'), key: person, name: event.name, revision: 0 };
      return [
        { entry: { ...entry, depth: 0, via: '' }, back: null, forward: null, signed: await this.signedBy(person) },
      ];
    }
    return [];
  }

  private async signedBy(person: string): Promise<SignedAct[]> {
    const found = await this.store.read.signatures.by(person);
    return found.reverse().map(({ signed: { statement, digest } }) => ({
      at: statement.at,
      meaning: statement.meaning,
      what: subjectText(statement),
      role: statement.person.role,
      reason: statement.reason,
      digest,
    }));
  }
}

type Reach = { entries: readonly TracedEntry[]; ties: readonly Tie[] };

function nodesOf(from: number, { entries, ties }: Reach, direction: 'back' | 'forward'): TraceNode[] {
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  const [near, far] = direction === 'back' ? (['source', 'target'] as const) : (['target', 'source'] as const);
  // Grouped first: thousands of lots hang on one machine, and looking through all ties for each is their square.
  const tiesTo = new Map<number, Tie[]>();
  for (const tie of ties) {
    const known = tiesTo.get(tie[far]);
    if (known) known.push(tie);
    else tiesTo.set(tie[far], [tie]);
  }
  const via = (entry: TracedEntry): string => {
    const said = (tiesTo.get(entry.id) ?? []).flatMap((tie) => {
      const other = byId.get(tie[near]);
      return other?.depth === entry.depth - 1 ? [tieText(tie, other.key, direction)] : [];
    });
    return [...new Set(said)].join('; ');
  };
  return entries
    .filter((entry) => entry.id !== from)
    .sort((a, b) => a.depth - b.depth || compare(a.kind, b.kind) || compare(a.key, b.key))
    .map((entry) => asNode(entry, via(entry)));
}

/** A tie that leads on from one step nearer to what was asked for. */
function tieText({ name, massG }: Tie, near: string, direction: 'back' | 'forward'): string {
  const mass = massG === null ? '' : `, ${massG} g`;
  return direction === 'back' ? `${near}: ${name}${mass}` : `${name} ${near}${mass}`;
}

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

const asNode = ({ kind, key, name, revision, depth }: TracedEntry, via: string): TraceNode => ({
  kind,
  title: kindTitle(kind),
  key,
  name,
  revision,
  depth,
  via,
});
