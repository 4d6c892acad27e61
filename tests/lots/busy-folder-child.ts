import fs from 'node:fs';
import { ACTOR, openStore } from '../store/open-store.js';

// Writes one entry after the other into a data folder, without a pause, until it is killed; says how many there are.
// usage: busy-folder-child.ts FOLDER
const store = await openStore(process.argv[2]!);
for (let count = 1; ; count += 1) {
  const body = { kind: 'supplier', format: 1, supplier: `S-C${count}`, title: 'Invented' };
  await store.change(ACTOR, (change) =>
    change.entries.add({ kind: 'supplier', key: body.supplier, name: body.title, body, links: [] }),
  );
  fs.writeSync(1, `${count}\n`);
}
