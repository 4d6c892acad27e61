// Where the folders of a bench lie: in the temporary folder, and their rows in SQLite, or on a server that is started for
// the bench where `LOTWRIGHT_BENCH_ENGINE=postgresql` asks for it. `LOTWRIGHT_BENCH_GROWN` names a folder in which those that
// take long to grow are kept, and found again, under the number of their lots.
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import './typescript.mjs';

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));

export const isOnServer = process.env.LOTWRIGHT_BENCH_ENGINE === 'postgresql';

/** Moves folders of a bench to a server, as a cell does that outgrew its file. */
export class BenchServer {
  #server;

  constructor(server) {
    this.#server = server;
  }

  static async start() {
    const { TestServer } = await import('./postgresql.ts');
    return new BenchServer(await TestServer.start());
  }

  /** @returns seconds that the command took. */
  async take(data) {
    const { asked } = await import('./postgresql.ts');
    const { url, owner, superuser } = await this.#server.database();
    const begun = performance.now();
    execFileSync(process.execPath, [CLI, '--data', data, 'relocate', '--to', url], {
      stdio: ['ignore', 'ignore', 'inherit'],
      env: { ...process.env, LOTWRIGHT_STORE_OWNER: owner },
    });
    const took = (performance.now() - begun) / 1000;
    // As the server does by itself some minutes after so many rows came, and then no more while pages are measured.
    await asked(superuser, 'VACUUM ANALYZE');
    return took;
  }

  /** Processor time in milliseconds that the server took until now. */
  cpuMs() {
    return this.#server.cpuMs();
  }

  remove() {
    this.#server.remove();
  }
}

/** A data folder with so many lots, of which some are not decided: its path. Whoever asks owns it. */
export async function grownFolder(lots, open) {
  const kept = process.env.LOTWRIGHT_BENCH_GROWN;
  const place = kept && path.join(kept, String(lots));
  if (!place || !fs.existsSync(place)) {
    const { cellWithManyLots } = await import('./many-lots.ts');
    const cell = await cellWithManyLots(lots, open);
    await cell.close();
    if (!place) return cell.folder.path;
    fs.mkdirSync(kept, { recursive: true });
    fs.cpSync(cell.folder.path, place, { recursive: true });
    return cell.folder.path;
  }
  const { temporaryFolder } = await import('./cell.ts');
  const copy = path.join(temporaryFolder('grown'), 'data');
  fs.cpSync(place, copy, { recursive: true });
  return copy;
}
