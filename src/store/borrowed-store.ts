import { ENGINE } from './chosen-engine.js';
import { DataFolder } from './data-folder.js';
import { Store } from './store.js';

/** Does one task of a worker thread on a data folder, with connections of its own, which later tasks of the thread may share. */
export async function withBorrowedStore<T>(folder: string, work: (store: Store) => Promise<T>): Promise<T> {
  const data = DataFolder.open(folder);
  const store = await Store.open(data, await ENGINE.lend(data));
  try {
    return await work(store);
  } finally {
    await store.close();
  }
}
