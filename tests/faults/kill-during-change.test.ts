import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { verifyLedger } from '../../src/ledger/verify-ledger.js';
import type { Store } from '../../src/store/store.js';
import { databaseOf, ENGINES, stopEngines, temporaryFolder } from '../store/open-store.js';
import { uniformNumbers } from '../support/numbers.js';
import { until } from '../support/until.js';
import { killsOf, tellKills } from './command.js';

/** A few kills in the daily run, hundreds in the long one. */
const KILLS = { SQLite: killsOf(200, 5), PostgreSQL: killsOf(200, 2) };
const SEED = 20310506;

afterAll(stopEngines);

/** Kills are spread over so many changes behind the first two. */
const SPREAD = 5;

/** Starts a program that takes in lots, kills it, and gives the lots that it was told are stored. */
async function runAndKill(folder: string, firstLot: number, share: number): Promise<string[]> {
  const hooks = path.join(PROGRAM_ROOT, 'tests', 'support', 'typescript.mjs');
  const script = path.join(PROGRAM_ROOT, 'tests', 'faults', 'kill-during-change-child.ts');
  const { NODE_OPTIONS: _unused, ...env } = process.env;
  const { url, owner } = databaseOf(folder) ?? {};
  const server = url === undefined || owner === undefined ? [] : [url, owner];
  const child = spawn(process.execPath, ['--import', hooks, script, folder, String(firstLot), ...server], {
    stdio: ['ignore', 'pipe', 'inherit'],
    env,
  });
  const closed = once(child, 'close');
  let output = '';
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    output += text;
  });
  const acknowledged = () => output.split('\n').filter((line) => /^L-\d+$/.test(line));
  // The kill hits the work and not the start, at any place of a change, however long one takes on this machine.
  const stored = (lots: number) => until(() => acknowledged().length >= lots || child.exitCode !== null);
  await stored(1);
  const begun = performance.now();
  await stored(2);
  await sleep(share * SPREAD * (performance.now() - begun));
  child.kill('SIGKILL');
  const [, signal] = (await closed) as [number | null, string];
  expect(signal).toBe('SIGKILL');
  return acknowledged();
}

/** Every stored lot is whole, and every file under a hash has that hash. */
async function expectWhole(store: Store, lots: readonly string[]): Promise<void> {
  for (const lot of lots) {
    const revision = await store.read.entries.currentOrThrow('lot', lot);
    const { rows } = await store.read.results.ofLot(lot);
    expect([lot, rows.length]).toEqual([lot, 400]);
    const [log] = await store.read.entries.evidenceNamedBy([{ kind: 'lot', key: lot, revision: 1 }]);
    expect(log?.sha256).toBe((JSON.parse(revision.text) as { log: string }).log);
    await store.evidence.verify(log!.sha256);
  }
  for (const sha256 of await store.evidence.list()) await store.evidence.verify(sha256);
}

describe.each(ENGINES)('kill -9 in the midst of changes on %s', (engine, openStore) => {
  const kills = KILLS[engine];

  it(`loses nothing that was acknowledged and leaves nothing half, ${kills} times`, async () => {
    const { folder, remove } = temporaryFolder();
    await (await openStore(folder)).close();
    const random = uniformNumbers(SEED);
    const acknowledged: string[] = [];
    for (let kill = 0; kill < kills; kill += 1) {
      const firstLot = 1000 * (kill + 1);
      acknowledged.push(...(await runAndKill(folder, firstLot, random())));
      const store = await openStore(folder);
      try {
        const stored = (await store.read.entries.list('lot')).map((item) => item.key);
        expect(stored).toEqual(expect.arrayContaining(acknowledged));
        // The change that was cut off may have been stored just before it could be acknowledged.
        expect(stored.length - acknowledged.length).toBeLessThanOrEqual(kill + 1);
        await expectWhole(
          store,
          stored.filter((lot) => Number(lot.slice(2)) >= firstLot),
        );
        const entries = [];
        for (
          let page = await store.read.ledger.page(0);
          page.length > 0;
          page = await store.read.ledger.page(page.at(-1)!.seq)
        ) {
          entries.push(...page);
        }
        // Two entries of the fresh folder, three of each change.
        expect(verifyLedger(entries)).toMatchObject({ ok: true, size: 2 + 3 * stored.length });
        expect(await store.read.ledger.size()).toBe(entries.length);
      } finally {
        await store.close();
      }
    }
    expect(acknowledged.length).toBeGreaterThanOrEqual(2 * kills);
    tellKills(`changes of a program on ${engine}`, kills, acknowledged.length);
    remove();
  });
});
