import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { makeFreshFolder } from '../support/fresh-folder.js';

export const ACTOR = 'local:test';

/** A fresh folder of its own for one test file; `remove` clears it away. */
export function temporaryFolder(): { folder: string; remove: () => void } {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-test-'));
  return { folder, remove: () => fs.rmSync(folder, { recursive: true, force: true }) };
}

/** @param folder one that is absent or empty becomes a fresh data folder. */
export async function openStore(folder: string): Promise<Store> {
  await makeFreshFolder(folder);
  return Store.open(DataFolder.open(folder));
}

/** Every engine, by how a store is opened on a folder with it. A further one is a line more. */
export const ENGINES: readonly (readonly [name: string, open: (folder: string) => Promise<Store>])[] = [
  ['SQLite', openStore],
];
