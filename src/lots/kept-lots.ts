import { setTimeout as sleep } from 'node:timers/promises';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { explained } from '../base/disk-trouble.js';
import { AppError } from '../base/errors.js';
import { KEPT_VERSION } from '../base/kept-version.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { KeptViewName } from '../store/kept-view-names.js';
import type { KeptMarks, KeptView, MadeView } from '../store/kept-views.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { tracked } from '../store/tracked-reads.js';
import { canMakeInWorker, makeInWorker } from './kept-in-worker.js';

/** What was made of a lot, and what lists ask of it. */
export interface Made<T> {
  readonly body: T;
  readonly marks: KeptMarks;
}

/** A file that makes a view of a lot, from reads alone: it is loaded when something is behind. */
export interface Maker<T> {
  make(read: Reads, lot: string): Promise<Made<T>>;
}

export interface ViewOfLots<T> {
  readonly view: KeptViewName;
  /** Of the file, for a worker. */
  readonly url: URL;
  load(): Promise<Maker<T>>;
}

/** What was asked of many lots, and how many of them have to be made anew first: of these it may be what was true before. */
export interface Told<T> {
  readonly bodies: readonly T[];
  readonly behind: number;
}

const VERSION = `${KEPT_VERSION} ${ASSESSMENT_VERSION}`;
const ACTOR = 'program';
/** So many are made anew in the thread of the service: each takes some milliseconds. */
const FEW = 3;
/** A command makes so many anew at its end, of those that it touched; others are left to whoever asks next. */
const MOST_AT_END = 20;
/** Kept in one change: the longer it takes to make them, the likelier somebody writes meanwhile. */
const AT_ONCE = 10;
const PAGE_WAITS_MS = 2000;

/**
 * What is kept of lots, read as it is, and made anew where it is behind. What is behind is never given for what is: it is
 * made first, or told (docs/decisions/kept-views.md).
 */
export class KeptLots<T> {
  private working: Promise<void> | undefined;

  constructor(
    private readonly store: Store,
    private readonly asked: ViewOfLots<T>,
  ) {}

  /** Of every lot, in no order. */
  async all(): Promise<T[]> {
    const behind = await this.behind();
    if (this.isForWorker(behind)) await this.inWorker(behind);
    // In this thread also those that somebody touched meanwhile.
    const made = await this.makeHere(await this.behind());
    const rows = await this.store.read.keptViews.all(...this.own);
    return rows.map(({ lot, body }) => made.get(lot) ?? (body as T));
  }

  /** Of one lot; undefined when there is no such lot. */
  async ofLot(lot: string): Promise<T | undefined> {
    await this.begin();
    const kept = await this.store.read.keptViews.of(...this.own, lot);
    return kept?.isBehind ? (await this.makeHere([lot])).get(lot) : (kept?.body as T | undefined);
  }

  /** Of the lots of a page of the list: open ones, needed soonest first; then the others, the latest first. */
  page(page: { readonly skip: number; readonly most: number }): Promise<Told<T>> {
    return this.told(() => this.store.read.keptViews.page(...this.own, page));
  }

  /** Of all that are open, and of those that ask something of people all the same. */
  asking(): Promise<Told<T>> {
    return this.told(() => this.store.read.keptViews.asking(...this.own));
  }

  counts(): Promise<{ lots: number; open: number; awaiting: number }> {
    return this.store.read.keptViews.counts(this.asked.view);
  }

  /** Makes anew what this process touched, as far as that is done at once. */
  async settle(): Promise<void> {
    const behind = await this.behind();
    if (behind.length <= MOST_AT_END) await this.makeHere(behind);
  }

  /** Makes lots anew in this thread, and keeps them unless somebody wrote meanwhile: then the next who asks makes them. */
  async makeHere(lots: readonly string[]): Promise<Map<string, T>> {
    const found = new Map<string, T>();
    if (lots.length === 0) return found;
    const { make } = await this.asked.load();
    let made: MadeView[] = [];
    for (const [index, lot] of lots.entries()) {
      const madeAt = await this.store.read.ledger.size();
      const { reads, topics } = tracked(this.store.read);
      const { body, marks } = await make(reads, lot);
      found.set(lot, body);
      made.push({ view: this.asked.view, version: VERSION, lot, madeAt, body, marks, topics: await topics() });
      if (made.length < AT_ONCE && index < lots.length - 1) continue;
      await this.keep(made);
      made = [];
    }
    return found;
  }

  /** Lots of which is kept what does not follow from all else. */
  async differing(): Promise<string[]> {
    const { make } = await this.asked.load();
    const { read } = this.store;
    const found: string[] = [];
    for (const { lot, isBehind, body, marks } of await read.keptViews.all(...this.own)) {
      if (isBehind) continue;
      const made = await make(read, lot);
      if (textOf({ body, marks }) === textOf(made)) continue;
      // Somebody may have touched it since.
      const now = await read.keptViews.of(...this.own, lot);
      if (now?.isBehind === false && textOf({ body, marks }) === textOf(now)) found.push(lot);
    }
    return found;
  }

  private async keep(made: readonly MadeView[]): Promise<void> {
    try {
      await this.store.change(ACTOR, async (change) => {
        const size = change.ledger.sizeNow();
        await change.keptViews.keep(made.filter(({ madeAt }) => madeAt === size));
      });
    } catch (error) {
      // What was made is right all the same: that a folder cannot be written to is told by the acts that need it.
      if (!(explained(error) instanceof AppError)) throw error;
    }
  }

  private async told(query: () => Promise<KeptView[]>): Promise<Told<T>> {
    const behind = await this.behind();
    if (this.isForWorker(behind))
      await Promise.race([this.inWorker(behind), sleep(PAGE_WAITS_MS, undefined, { ref: false })]);
    const left = await this.behind();
    const made = this.isForWorker(left) ? new Map<string, T>() : await this.makeHere(left);
    const bodies = (await query()).map(({ lot, body }) => made.get(lot) ?? (body as T | undefined));
    return { bodies: bodies.filter((body) => body !== undefined), behind: left.length - made.size };
  }

  private get own(): [KeptViewName, string] {
    return [this.asked.view, VERSION];
  }

  /** Lots of which it has to be made anew. */
  async behind(): Promise<string[]> {
    await this.begin();
    return this.store.read.keptViews.behind(...this.own);
  }

  /** Where changes were made that marked nothing, nothing that is kept counts. */
  private async begin(): Promise<void> {
    if (await this.store.read.keptViews.isWhole()) return;
    await this.store.change(ACTOR, (change) => change.keptViews.startOver());
  }

  /** A service makes many lots in a worker, so that it stays responsive; a command in its own thread. */
  private isForWorker(lots: readonly string[]): boolean {
    return lots.length > FEW && this.store.isService && canMakeInWorker();
  }

  /** One after another: whoever comes while lots are made waits for these. */
  private inWorker(lots: readonly string[]): Promise<void> {
    const { view, url } = this.asked;
    this.working ??= makeInWorker({ folder: this.store.folder.path, view, url: url.href, lots }).finally(() => {
      this.working = undefined;
    });
    return this.working;
  }
}

/** What is undefined is not kept. */
const textOf = ({ body, marks }: { readonly body: unknown; readonly marks: KeptMarks }): string =>
  canonicalJson(JSON.parse(JSON.stringify({ body, marks })));
