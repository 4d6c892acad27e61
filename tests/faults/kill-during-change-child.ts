import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { result } from '../store/fill.js';
import { ACTOR, openOn, openStore } from '../store/open-store.js';

// Takes in one invented lot after the other until it is killed, and says which ones it was told are stored.
// usage: kill-during-change-child.ts FOLDER FIRST [URL OWNER]
const [folder, first, url, owner] = process.argv.slice(2) as [string, string, string?, string?];
const database = url === undefined || owner === undefined ? undefined : { url, owner, superuser: '' };
const store = await (database ? openOn(database, folder) : openStore(folder));
for (let number = Number(first); ; number += 1) {
  const lot = `L-${number}`;
  const text = `log of ${lot}\n`.repeat(20_000);
  const source = path.join(folder, 'source.csv');
  fs.writeFileSync(source, text);
  const kept = await store.evidence.keep(source);
  const rows = Array.from({ length: 400 }, (_, line) => result({ specimen: `S-${line}`, evidence: kept.sha256 }));
  await store.change(ACTOR, async (change) => {
    await change.evidence.add({ ...kept, fileName: 'log.csv' });
    const links = [{ name: 'log', to: { evidence: kept.sha256 } }];
    await change.entries.add({ kind: 'lot', key: lot, name: lot, body: { log: sha256Hex(text) }, links });
    await change.results.add(lot, 'log.csv', rows);
  });
  fs.writeSync(1, `${lot}\n`);
}
