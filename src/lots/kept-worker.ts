import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { withBorrowedStore } from '../store/borrowed-store.js';
import type { KeptViewName } from '../store/kept-view-names.js';
import { type Maker, makeKept } from './make-kept.js';

export interface KeepTask {
  readonly folder: string;
  readonly view: KeptViewName;
  /** Of the file that makes it. */
  readonly url: string;
  readonly lots: readonly string[];
}

const makeIn = ({ folder, view, url, lots }: KeepTask): Promise<null> =>
  withBorrowedStore(folder, async (store) => {
    const load = () => import(url) as Promise<Maker<unknown>>;
    await makeKept(store, { view, url: new URL(url), load }, lots);
    return null;
  });

/** Runs in a worker thread, with connections of its own. */
export default answering(ofThisProgram(makeIn));
