import { once } from 'node:events';
import fs from 'node:fs';
import path from 'node:path';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';
import { until } from '../support/until.js';
import { killedAt, killsOf, momentsOf, started, tellKills, wholeLife } from './command.js';

const KILLS = killsOf(60, 1);

/** The cell with a log of many megabytes: the two minutes, again and again, each time with the layers that follow. */
function writeLongCell(): string {
  const cell = makeCell();
  const [header, ...rows] = cell.files['lots/L-1/logs/run.csv']!.trimEnd().split('\n');
  const start = Date.parse(rows[0]!.split(',')[0]!);
  const fine: string[] = [];
  for (let count = 0; count < 400_000; count += 1) {
    const [, layer, zone, step] = rows[Math.min(rows.length - 1, Math.floor((count * 120) / 400_000))]!.split(',');
    const time = new Date(start + Math.floor((count * 120_000) / 400_000)).toISOString();
    fine.push(`${time},${layer},${zone},${step},${7 + (count % 13) / 10}`);
  }
  cell.files['lots/L-1/logs/run.csv'] = `${[header, ...fine].join('\n')}\n`;
  return writeCell(cell);
}

/** What the scan of the log has left in the store, without the places in it. */
async function outcomeOf({ store }: Services) {
  const logs = await store.read.logs.ofLot('L-1');
  return Promise.all(
    logs.map(async (log) => ({ files: log.files, part: log.part, summaries: await store.read.logs.summaries(log) })),
  );
}

describe('kill -9 while a log is scanned', () => {
  const cell = writeLongCell();
  let wholeMs: number;
  let undisturbed: Awaited<ReturnType<typeof outcomeOf>>;
  const undisturbedData = path.join(temporaryFolder('whole'), 'data');

  beforeAll(async () => {
    ({ ms: wholeMs } = await wholeLife(undisturbedData, ['intake', cell]));
    const services = await openServices(undisturbedData);
    undisturbed = await outcomeOf(services);
    await services.store.close();
  });

  it('of an intake: the next one finishes at once, with the same result', async () => {
    for (const ms of momentsOf(KILLS, wholeMs)) {
      const data = path.join(temporaryFolder('killed'), 'data');
      await killedAt(ms, data, ['intake', cell]);
      const services = await openServices(data);
      try {
        const stored = await services.store.read.entries.list('lot');
        if (stored.length > 0) expect(await outcomeOf(services)).toEqual(undisturbed);
        await services.intake.run(cell, 'local:tester');
        expect(await outcomeOf(services)).toEqual(undisturbed);
        const { sha256 } = undisturbed[0]!.files[0]!;
        expect(services.store.archives.has(sha256)).toBe(true);
        expect((await services.store.read.scanJobs.open()).length).toBe(0);
        expect((await services.store.verifyLedger()).ok).toBe(true);
      } finally {
        await services.store.close();
      }
    }
    tellKills('intake with a long log', KILLS, 0);
  });

  it('of a service: the next start takes the scan up and finds the same', async () => {
    const { sha256, fileName, bytes } = undisturbed[0]!.files[0]!;
    for (const ms of momentsOf(KILLS, wholeMs)) {
      const data = path.join(temporaryFolder('service'), 'data');
      fs.cpSync(undisturbedData, data, { recursive: true });
      const before = await openServices(data);
      const wanted = { lot: 'L-1', build: 'M1-101', fileName, evidence: sha256, totalBytes: bytes };
      const id = await before.store.scanJobs.ask(wanted);
      before.store.archives.remove(sha256);
      await before.store.close();
      await killedAt(ms, data, ['serve', '--port', '0']);
      const service = started(data, 'serve', '--port', '0');
      service.stdout!.resume();
      service.stderr!.resume();
      const ended = once(service, 'close');
      const watching = await openServices(data);
      try {
        const job = await until(async () => {
          const found = await watching.store.read.scanJobs.byId(id);
          return found?.endedAt === null ? undefined : found;
        });
        expect(job).toMatchObject({ state: 'done', error: null });
        expect(await outcomeOf(watching)).toEqual(undisturbed);
        expect(watching.store.archives.has(sha256)).toBe(true);
      } finally {
        service.kill('SIGTERM');
        await ended;
        await watching.store.close();
      }
    }
    tellKills('service with a scan waiting', KILLS, 0);
  });
});
