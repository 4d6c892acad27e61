import fs from 'node:fs';
import path from 'node:path';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices } from '../support/services.js';
import { killedAt, killsOf, momentsOf, tellKills, wholeLife } from './command.js';

const KILLS = killsOf(200, 1);

it('loses nothing acknowledged and leaves nothing half-stored, whenever it is killed', async () => {
  const cell = writeCell(makeCellWithHistory(4));
  const words = ['--json', 'intake', cell];
  const check = async (data: string, answer: string) => {
    const acknowledged = answer.includes('"stored":true');
    const services = await openServices(data);
    try {
      expect(await services.store.verifyLedger()).toMatchObject({ ok: true });
      const lots = (await services.store.read.entries.list('lot')).map((lot) => lot.key);
      if (acknowledged) expect(lots).toHaveLength(5);
      // A lot is there with all of its results and its log, or not at all.
      for (const lot of lots) {
        expect((await services.store.read.results.ofLot(lot)).rows).toHaveLength(6);
        expect(await services.store.read.logs.ofLot(lot)).toHaveLength(1);
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
  };
  const undisturbed = path.join(temporaryFolder('undisturbed'), 'data');
  const { answer, ms: wholeMs } = await wholeLife(undisturbed, words);
  expect(answer).toContain('"stored":true');
  await check(undisturbed, answer);
  let acknowledged = 0;
  for (const ms of momentsOf(KILLS, wholeMs)) {
    const data = path.join(temporaryFolder('killed'), 'data');
    const said = await killedAt(ms, data, words);
    if (said.includes('"stored":true')) acknowledged += 1;
    await check(data, said);
  }
  tellKills('intake of a folder', KILLS, acknowledged);
});
