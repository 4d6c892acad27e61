import { setTimeout as sleep } from 'node:timers/promises';
import { canonicalJson } from '../dossier/canonical.js';
import type { KeptViewName } from '../store/kept-view-names.js';
import type { KeptView } from '../store/kept-views.js';
import type { Store } from '../store/store.js';
import { canMakeInWorker, makeInWorker } from './kept-in-worker.js';
import { KEPT_BY, type Made, makeKept, PROGRAM, type ViewOfLots } from './make-kept.js';

/** What was asked of many lots, and how many of them have to be made anew first: of these it may be what was true before. */
export interface Told<T> {
  readonly values: readonly T[];
  readonly behind: number;
}

/** So many are made anew in the thread of the service: each takes some milliseconds. */
const FEW = 3;
/** A command makes so many anew at its end, of those that it touched; others are left to whoever asks next. */
const MOST_AT_END = 20;
/** A page waits so long for what is about to be made, and then says that it is behind. */
const PAGE_WAITS_MS = 100;
/** So many are made at once in the worker, so that what is made is seen, and a service that ends waits for few. */
const MOST_IN_WORKER = 50;
const WORKER = { isThere: canMakeInWorker, make: makeInWorker };

/**
 * What is kept of lots, read as it is, and made anew where it is behind. What is behind is never given for what is: it is
 * made first, or told (docs/decisions/kept-views.md).
 */
export class KeptLots<T> {
  private working: Promise<void> | undefined;

  constructor(
    private readonly store: Store,
    private readonly asked: ViewOfLots<T>,
    private readonly worker: { readonly isThere: () => boolean; readonly make: typeof makeInWorker } = WORKER,
  ) {}

  /** Of every lot, in no order. */
  async all(): Promise<T[]> {
    await this.catchUp(() => false);
    // In this thread also those that somebody touched meanwhile.
    const made = await this.makeHere(await this.behind());
    const rows = await this.store.read.keptViews.all(...this.own);
    return rows.map(({ lot, value }) => made.get(lot) ?? (value as T));
  }

  /** Of some lots; what is no lot is left out. */
  async ofLots(lots: readonly string[]): Promise<T[]> {
    const wanted = new Set(lots);
    await this.catchUp(
      () => false,
      async () => (await this.behind()).filter((lot) => wanted.has(lot)),
    );
    const rows = await this.store.read.keptViews.of(...this.own, lots);
    const made = await this.makeHere(rows.flatMap(({ lot, isBehind }) => (isBehind ? [lot] : [])));
    return rows.map(({ lot, value }) => made.get(lot) ?? (value as T));
  }

  /** Of some lots, without waiting for more of them than are made at once. */
  toldOf(lots: readonly string[]): Promise<Told<T>> {
    const wanted = new Set(lots);
    return this.told(
      () => this.store.read.keptViews.of(...this.own, lots),
      async () => (await this.behind()).filter((lot) => wanted.has(lot)),
    );
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

  /**
   * Makes what is behind in the worker of a service, so that whoever asks has not to wait for more than a few.
   * @param isOver true when nobody wants it any more.
   */
  async catchUp(isOver: () => boolean, behindNow = () => this.behind()): Promise<void> {
    let last = Number.POSITIVE_INFINITY;
    for (;;) {
      const behind = await behindNow();
      // What is made is not kept while somebody writes, and in a folder that cannot be written to: whoever asks makes it.
      if (isOver() || !this.isForWorker(behind) || behind.length >= last) return;
      // A batch that somebody else began says nothing of what can be made.
      if (this.working === undefined) last = behind.length;
      await this.inWorker(behind);
    }
  }

  private makeHere(lots: readonly string[]): Promise<Map<string, T>> {
    return makeKept(this.store, this.asked, lots);
  }

  /** Lots of which is kept what does not follow from all else. */
  async differing(): Promise<string[]> {
    const { make } = await this.asked.load();
    const { read } = this.store;
    const found: string[] = [];
    for (const { lot, isBehind, value, marks } of await read.keptViews.all(...this.own)) {
      if (isBehind) continue;
      const made = await make(read, lot);
      if (textOf({ value, marks }) === textOf(made)) continue;
      // Somebody may have touched it since.
      const [now] = await read.keptViews.of(...this.own, [lot]);
      if (now?.isBehind === false && textOf({ value, marks }) === textOf(now)) found.push(lot);
    }
    return found;
  }

  private async told(query: () => Promise<KeptView[]>, behindNow = () => this.behind()): Promise<Told<T>> {
    if (this.isForWorker(await behindNow()))
      await Promise.race([this.catchUp(() => false, behindNow), sleep(PAGE_WAITS_MS, undefined, { ref: false })]);
    const left = await behindNow();
    const made = this.isForWorker(left) ? new Map<string, T>() : await this.makeHere(left);
    const values = (await query()).map(({ lot, value }) => made.get(lot) ?? (value as T | undefined));
    return { values: values.filter((value) => value !== undefined), behind: left.length - made.size };
  }

  private get own(): [KeptViewName, string] {
    return [this.asked.view, KEPT_BY];
  }

  /** Lots of which it has to be made anew. */
  async behind(): Promise<string[]> {
    await this.begin();
    return this.store.read.keptViews.behind(...this.own);
  }

  /** Where changes were made that marked nothing, nothing that is kept counts. */
  private async begin(): Promise<void> {
    if (await this.store.read.keptViews.isWhole()) return;
    await this.store.change(PROGRAM, (change) => change.keptViews.startOver());
  }

  /** A service makes many lots in a worker, so that it stays responsive; a command in its own thread. */
  private isForWorker(lots: readonly string[]): boolean {
    return lots.length > FEW && this.store.isService && this.worker.isThere();
  }

  /** The first of them, one task after another: whoever comes while lots are made waits for these. */
  private inWorker(lots: readonly string[]): Promise<void> {
    const { view, url } = this.asked;
    const task = { folder: this.store.folder.path, view, url: url.href, lots: lots.slice(0, MOST_IN_WORKER) };
    this.working ??= this.worker.make(task).finally(() => {
      this.working = undefined;
    });
    return this.working;
  }
}

/** What is undefined is not kept. */
const textOf = ({ value, marks }: Made<unknown>): string => canonicalJson(JSON.parse(JSON.stringify({ value, marks })));
