import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';

export const ACTOR = 'local:test';

/** A fresh folder of its own for one test file; `remove` clears it away. */
export function temporaryFolder(): { folder: string; remove: () => void } {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-test-'));
  return { folder, remove: () => fs.rmSync(folder, { recursive: true, force: true }) };
}

export const openStore = (folder: string): Promise<Store> => Store.open(DataFolder.open(folder));
