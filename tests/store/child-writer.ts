import { canonicalJson } from '../../src/dossier/canonical.js';
import { ACTOR, openStore } from './open-store.js';

// A program of its own: adds COUNT revisions to one entry, each holding the number of the one before it.
// usage: child-writer.ts FOLDER COUNT
const [folder, count] = process.argv.slice(2) as [string, string];
const store = await openStore(folder);
for (let step = 0; step < Number(count); step += 1) {
  await store.change(ACTOR, async (change) => {
    const before = await change.entries.current('lot', 'L-1');
    const body = { format: 1, before: before?.revision ?? 0, by: process.pid };
    await change.entries.add({
      kind: 'lot',
      key: 'L-1',
      name: canonicalJson(step),
      body,
      links: [],
      reason: 'test',
    });
  });
}
await store.close();
