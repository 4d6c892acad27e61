import { type KindName, kindNamed } from '../kinds/catalogue.js';
import { HISTORY_KINDS } from '../kinds/design-history/history-kinds.js';
import type { LinkDraft } from '../kinds/kind.js';
import type { EntryRef, RevisionRef } from '../kinds/references.js';
import type { TieName } from '../kinds/ties.js';
import { type DesignFacts, type DesignRevision, refText } from './design-facts.js';

/** A tie of a current document, with the document that it stands in. */
export interface Tied {
  readonly from: DesignRevision;
  readonly link: LinkDraft;
}

/** The documents of a design, so that each rule finds what it asks for in one step. */
export class DesignIndex {
  readonly family: string;
  readonly today: string;
  /** Answers on gaps, by the identity of the gap. */
  readonly answers: ReadonlyMap<string, DesignRevision<'gap-answer'>>;
  private readonly all = new Map<string, DesignRevision[]>();
  private readonly ofKind = new Map<string, DesignRevision[]>();
  private readonly ties = new Map<string, Tied[]>();
  private readonly tiesByEntry = new Map<string, Tied[]>();

  constructor(readonly facts: DesignFacts) {
    this.family = facts.family;
    this.today = facts.today;
    for (const one of facts.revisions) push(this.all, refText(one), one);
    for (const revisions of this.all.values()) {
      revisions.sort((a, b) => a.revision - b.revision);
      const last = revisions.at(-1)!;
      // One that was withdrawn stands for nothing, and the one before it does not come back.
      if (!last.withdrawn) push(this.ofKind, last.kind, last);
    }
    for (const current of this.ofKind.values()) {
      current.sort((a, b) => (a.key < b.key ? -1 : 1));
      for (const from of current) {
        for (const link of linksOf(from)) {
          push(this.ties, `${link.name} ${refText(link)}`, { from, link });
          push(this.tiesByEntry, refText(link), { from, link });
        }
      }
    }
    this.answers = new Map(this.current('gap-answer').map((answer) => [answer.key, answer]));
  }

  /** The latest revision of each entry of a kind that was not withdrawn, in the order of the keys. */
  current<K extends KindName>(kind: K): readonly DesignRevision<K>[] {
    return (this.ofKind.get(kind) ?? []) as unknown as DesignRevision<K>[];
  }

  /** Every entry of a kind with all its revisions, oldest first. */
  entries<K extends KindName>(kind: K): DesignRevision<K>[][] {
    const found = [...this.all.values()].filter(([first]) => first!.kind === kind);
    return found.sort(([a], [b]) => (a!.key < b!.key ? -1 : 1)) as unknown as DesignRevision<K>[][];
  }

  /** The latest revision of an entry, withdrawn or not. */
  latest(ref: EntryRef): DesignRevision | undefined {
    return this.all.get(refText(ref))?.at(-1);
  }

  revision({ revision, ...ref }: RevisionRef): DesignRevision | undefined {
    return this.all.get(refText(ref))?.find((one) => one.revision === revision);
  }

  /** Current documents of a kind that name an entry by this tie, whichever revision of it they name. */
  naming<K extends KindName>(from: K, tie: TieName, ref: EntryRef): DesignRevision<K>[] {
    const found = (this.ties.get(`${tie} ${refText(ref)}`) ?? []).filter((tied) => tied.from.kind === from);
    return found.map((tied) => tied.from) as unknown as DesignRevision<K>[];
  }

  /** Every tie of a current document to an entry, in the order of the documents. */
  tiesTo(ref: EntryRef): readonly Tied[] {
    return this.tiesByEntry.get(refText(ref)) ?? [];
  }

  /** Every tie of the current documents of a kind. */
  tiesFrom(kind: KindName): Tied[] {
    return this.current(kind).flatMap((from) => linksOf(from).map((link) => ({ from: from as DesignRevision, link })));
  }

  /** Whether anything was written down of this design. */
  get hasHistory(): boolean {
    return HISTORY_KINDS.some((kind) => this.current(kind).length > 0);
  }
}

export const linksOf = ({ kind, body }: DesignRevision): LinkDraft[] => kindNamed(kind)?.links(body) ?? [];

function push<T>(map: Map<string, T[]>, name: string, item: T): void {
  const known = map.get(name);
  if (known) known.push(item);
  else map.set(name, [item]);
}
