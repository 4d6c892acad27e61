import fs from 'node:fs';
import path from 'node:path';
import { PIN_BUILD } from '../../src/qualification/pins/pin-lot.js';
import { recordBuild } from '../../src/qualification/pins/pin-recording.js';
import { PlayedAgent } from '../../src/qualification/played-agent.js';
import { temporaryFolder } from '../support/cell.js';

it('leaves no agent listening where nothing can be recorded', async () => {
  const started = vi.spyOn(PlayedAgent.prototype, 'start');
  const file = path.join(temporaryFolder('recordings'), 'taken');
  fs.writeFileSync(file, 'a file where a folder should be');
  await expect(recordBuild(PIN_BUILD, 301, file)).rejects.toThrow(/EEXIST|ENOTDIR/);
  const address = await started.mock.results[0]!.value;
  await expect(fetch(`${address}/current`)).rejects.toThrow('fetch failed');
});
