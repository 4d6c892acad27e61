import fs from 'node:fs';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { copyOfTemplate } from './template.js';

/**
 * Makes an absent or empty folder a fresh data folder, and leaves every other alone. All that a run makes this way are
 * copies of one, and so have one installation key.
 */
export async function makeFreshFolder(folder: string): Promise<void> {
  if (fs.existsSync(folder) && fs.readdirSync(folder).length > 0) return;
  await copyOfTemplate('fresh', openForTheFirstTime, folder);
}

async function openForTheFirstTime(folder: string): Promise<void> {
  await (await Store.open(DataFolder.open(folder))).close();
}
