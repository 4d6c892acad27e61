import { spawn } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices } from '../support/services.js';

const CLI = path.resolve('dist', 'cli.js');
const KILLS = process.env.LOTWRIGHT_TEST_LONG ? 200 : 6;
/** Start of the program, and then the whole of the intake. */
const [EARLIEST_MS, LATEST_MS] = [300, 2300];

/** Starts `lotwright intake` and kills it without warning; says whether it had finished and answered before. */
async function intakeKilledAfter(ms: number, data: string, cell: string): Promise<boolean> {
  const child = spawn(process.execPath, [CLI, '--data', data, '--json', 'intake', cell], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  let answer = '';
  child.stdout.on('data', (chunk: Buffer) => {
    answer += chunk.toString();
  });
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  await Promise.race([ended, sleep(ms)]);
  child.kill('SIGKILL');
  await ended;
  return answer.includes('"stored":true');
}

it('loses nothing acknowledged and leaves nothing half-stored, whenever it is killed', async () => {
  const cell = writeCell(makeCellWithHistory(4));
  for (let kill = 0; kill < KILLS; kill++) {
    const data = path.join(temporaryFolder('killed'), 'data');
    const after = EARLIEST_MS + ((LATEST_MS - EARLIEST_MS) * kill) / Math.max(1, KILLS - 1);
    const acknowledged = await intakeKilledAfter(after, data, cell);
    const services = await openServices(data);
    try {
      expect(await services.store.verifyLedger()).toMatchObject({ ok: true });
      const lots = (await services.store.read.list('lot')).map((lot) => lot.key);
      if (acknowledged) expect(lots).toHaveLength(5);
      // A lot is there with all of its results and its log, or not at all.
      for (const lot of lots) {
        expect((await services.store.read.results(lot)).rows).toHaveLength(6);
        expect(await services.store.read.logs(lot)).toHaveLength(1);
      }
      // Taking the folder in again finishes the work.
      await services.intake.run(cell, 'local:tester');
      const { assessment } = await services.assessor.assess('L-1', 'local:tester');
      // Nobody has signed anything yet; what came in by file is whole.
      expect(assessment.characteristics.map(({ verdict }) => verdict)).toEqual(Array(4).fill('conforms'));
      const whole = assessment.checks.filter(({ code }) => code === 'results-complete' || code === 'log-complete');
      expect(whole.map(({ outcome }) => outcome)).toEqual(['passes', 'passes']);
      for (const name of fs.readdirSync(services.store.folder.evidence, { recursive: true, encoding: 'utf8' })) {
        if (/[0-9a-f]{64}$/.test(name)) await services.store.evidence.verify(path.basename(name));
      }
    } finally {
      await services.store.close();
    }
  }
}, 600_000);
