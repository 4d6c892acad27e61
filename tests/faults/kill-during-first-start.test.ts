import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { ACTOR, openStore, temporaryFolder } from '../store/open-store.js';
import { tellKills } from './command.js';

const { folder, remove } = temporaryFolder();
afterAll(() => remove());

/** @returns how many changes were made, or undefined when it was killed behind the last that it was let make. */
function firstStart(data: string, stop: number): number | undefined {
  const support = path.join(PROGRAM_ROOT, 'tests');
  const script = path.join(support, 'faults', 'first-start-child.ts');
  const { NODE_OPTIONS: _unused, ...env } = process.env;
  const words = ['--import', path.join(support, 'support', 'typescript.mjs'), script, data, String(stop)];
  const done = spawnSync(process.execPath, words, { encoding: 'utf8', env });
  if (done.signal === 'SIGKILL') return undefined;
  expect([done.status, done.stderr]).toEqual([0, '']);
  return Number(done.stdout);
}

/** Each third change in the daily run, one after the other in the long one. */
const EACH = process.env.LOTWRIGHT_TEST_LONG ? 1 : 3;

describe('kill -9 behind every change of the first start', () => {
  it('leaves a folder that opens, takes changes and holds', async () => {
    const all = firstStart(path.join(folder, 'undisturbed'), 0)!;
    // Folder and its file, database, key, evidence, and what makes the folder in the audit trail.
    expect(all).toBeGreaterThanOrEqual(8);
    for (let stop = 1; stop <= all; stop += EACH) {
      const data = path.join(folder, `stopped-${stop}`);
      expect([stop, firstStart(data, stop)]).toEqual([stop, undefined]);
      expect(fs.existsSync(data)).toBe(true);
      const store = await openStore(data);
      try {
        await store.change(ACTOR, (change) =>
          change.entries.add({ kind: 'lot', key: 'L-1', name: 'L-1', body: { format: 1 }, links: [] }),
        );
        const report = await store.verifyLedger();
        expect([stop, report.ok, report.size, report.faults]).toEqual([stop, true, 3, []]);
        expect(await store.read.events.installationKeys()).toMatchObject([{ fingerprint: store.key.fingerprint }]);
      } finally {
        await store.close();
      }
    }
    tellKills('first start', Math.ceil(all / EACH), 0);
  });
});
