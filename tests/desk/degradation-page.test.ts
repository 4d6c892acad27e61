import { execFileSync } from 'node:child_process';
import path from 'node:path';
import { renderRecord } from '../../src/records/render-record.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { addExposures, LOSSES_WITH_REPLICATES } from '../support/documents/exposures.js';
import { addShapes } from '../support/documents/shapes.js';
import { addWindows } from '../support/documents/windows.js';
import { withFile } from '../support/pdf-objects.js';
import { contentOf } from '../support/record-content.js';
import { serviceOver, type TestService } from '../support/service.js';
import { openServices } from '../support/services.js';
import { signWhatCameIn } from '../support/sign-cell.js';

const text = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

// It starts a service and draws a record over a folder of its own.
describe.runIf(Boolean(process.env.LOTWRIGHT_TEST_LONG))(
  'a lot with exposures, support windows and scanned shapes',
  () => {
    let service: TestService;
    let pdf: Uint8Array;
    beforeAll(async () => {
      const cell = makeCell();
      addDesigns(cell);
      addExposures(cell, LOSSES_WITH_REPLICATES);
      addShapes(cell, (n) => (index) => (n === 2 ? 0.08 : ((index % 5) - 2) * 0.01));
      addWindows(cell);
      const data = path.join(temporaryFolder('web'), 'data');
      const services = await openServices(DataFolder.createDemo(data, '2031-12-01T12:00:00Z'));
      await services.intake.run(writeCell(cell), 'local:tester');
      await signWhatCameIn(services);
      ({ pdf } = await renderRecord(contentOf(await services.assessor.assess('L-1', 'local:tester'))));
      await services.store.close();
      service = await serviceOver(data);
    });
    afterAll(() => service.close());

    const TOLD = [
      'L-1-I1, span',
      'inside mostly spread of specimens',
      'outside mostly spread of specimens',
      '77.3 µm in 12 weeks, 0.336 mm/year',
      'a: face peened, zones load-bearing, SBF revision 1 batch SBF-31-01',
      'longest exposure, 12 weeks: nothing is stated beyond',
      'L-1-I1 span: at most 100 µm for 6 weeks',
      'has to keep 85 %',
      'Shown, and no part of the verdict',
      'L-1-I2, scan end: deviations from the design, outside positive',
      'Worst point, in the ring: 0.080 mm outside at x',
      'judged as given; beside it by least squares',
      'whole square: outside',
      'Predicting degradation or strength in the body from them is not established',
    ];

    it('is told with the same words and pictures on its page', async () => {
      const { text: html, status } = await service.ask.get('/lots/L-1/tests');
      expect(status).toBe(200);
      for (const words of TOLD) expect(text(html)).toContain(words);
      expect(html).not.toMatch(/undefined|NaN|\[object Object\]/);
    });

    it('and in its record, which draws the window of the family by rates of the bench no more', () => {
      const read = (file: string) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
      const told = withFile(Buffer.from(pdf), (file) => read(file)).replace(/\s+/g, ' ');
      const inOneCell = TOLD.filter((words) => !words.includes('side mostly') && !words.includes('mm/year'));
      for (const words of inOneCell) expect(told).toContain(words);
      expect(told).not.toContain('What the rates would leave of the section');
    });
  },
);
