import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { explained } from '../base/disk-trouble.js';
import { AppError } from '../base/errors.js';
import { KEPT_VERSION } from '../base/kept-version.js';
import type { KeptViewName } from '../store/kept-view-names.js';
import type { KeptMarks, MadeView } from '../store/kept-views.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { tracked } from '../store/tracked-reads.js';

/** What was made of a lot, and what lists ask of it. */
export interface Made<T> {
  readonly value: T;
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

/** By which code it is made. */
export const KEPT_BY = `${KEPT_VERSION} ${ASSESSMENT_VERSION}`;
/** Who makes it. */
export const PROGRAM = 'program';
/** Kept in one change: the longer it takes to make them, the likelier somebody writes meanwhile. */
const AT_ONCE = 10;

/** Makes lots anew in this thread, and keeps them unless somebody wrote meanwhile: then the next who asks makes them. */
export async function makeKept<T>(
  store: Store,
  { view, load }: ViewOfLots<T>,
  lots: readonly string[],
): Promise<Map<string, T>> {
  const found = new Map<string, T>();
  if (lots.length === 0) return found;
  const { make } = await load();
  let made: MadeView[] = [];
  for (const [index, lot] of lots.entries()) {
    const madeAt = await store.read.ledger.size();
    const { reads, topics } = tracked(store.read);
    const { value, marks } = await make(reads, lot);
    found.set(lot, value);
    made.push({ view, version: KEPT_BY, lot, madeAt, value, marks, topics: await topics() });
    if (made.length < AT_ONCE && index < lots.length - 1) continue;
    await keep(store, made);
    made = [];
  }
  return found;
}

async function keep(store: Store, made: readonly MadeView[]): Promise<void> {
  try {
    await store.change(PROGRAM, async (change) => {
      const size = change.ledger.sizeNow();
      await change.keptViews.keep(made.filter(({ madeAt }) => madeAt === size));
    });
  } catch (error) {
    // What was made is right all the same: that a folder cannot be written to is told by the acts that need it.
    if (!(explained(error) instanceof AppError)) throw error;
  }
}
