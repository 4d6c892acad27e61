import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Browser } from 'playwright-core';
import { unitStatesOf } from '../../src/lots/unit-decisions.js';
import { openBrowser, patientContext } from '../support/browser.js';
import { BrowserSeat } from '../support/browser-seat.js';
import { FormSeat, type Seat } from '../support/seat.js';
import { openServices, type Services } from '../support/services.js';
import { STORY_ENDS, STORY_EXCEPTIONS, standsAs } from '../support/story-ends.js';
import { withTools } from '../support/tools.js';
import { walkStories } from '../support/walked-stories.js';

/**
 * Everything that may go wrong after a build, walked by five people through the pages alone: from an empty folder to the last
 * release, each story without a deadlock.
 */

const CLI = fileURLToPath(new URL('../../dist/cli.js', import.meta.url));
/** What an implant that went to somebody leads back to. */
const BEHIND_EACH = ['heat', 'receipt', 'powder-state', 'build', 'process-load', 'person'];
/** What stands of its case in the lot file. */
const OF_EACH_CASE = ['case', 'imaging-set', 'case-design', 'design-acceptance'];

const declare = (newSeats: () => Promise<{ seat(url: string): Promise<Seat>; close(): Promise<void> }>) => () => {
  let folder: string;
  let services: Services;
  const records = new Map<string, string>();

  beforeAll(async () => {
    const seats = await newSeats();
    const walk = await walkStories(seats.seat);
    for (const [lot] of STORY_ENDS) records.set(lot, await walk.record(lot));
    folder = walk.data.path;
    await walk.close();
    await seats.close();
    services = await openServices(folder);
  });
  afterAll(() => services?.store.close());

  it.each(STORY_ENDS)('ends with every implant of lot %s decided', async (lot, ends) => {
    const serials = ends.map(([serial]) => serial);
    const states = await unitStatesOf(services.store.read, lot, serials);
    // Holds come of what the demo tells besides.
    expect(states.map(({ serial, decision, releasedFor }) => [serial, decision, releasedFor.join(', ')])).toEqual(
      ends.map(([serial, decision, releasedFor]) => [serial, decision, releasedFor]),
    );
  });

  it.each(STORY_EXCEPTIONS)('prints on page 1 of lot %s what went wrong', (lot, told) => {
    const page = execFileSync('pdftotext', ['-l', '1', records.get(lot)!, '-'], { encoding: 'utf8' });
    const said = page.replace(/\s+/g, ' ');
    expect(said).toMatch(standsAs(lot));
    expect(told.filter((words) => !words.test(said))).toEqual([]);
  });

  it('leaves no gap: each released implant leads back to its case, its metal and its loads, and all of it verifies', async () => {
    for (const [lot, ends] of STORY_ENDS) {
      const { facts } = (await services.current.of(lot))!;
      for (const [serial, decision] of ends) {
        if (decision !== 'released') continue;
        const [found] = (await services.tracer.trace(serial)).matches;
        const kinds = new Set(found!.back!.map(({ kind }) => kind));
        const implant = facts.lot.body.implants.find((one) => one.serial === serial)!;
        const pinned = new Set(facts.caseParts.get(implant.case)!.pinned.map(({ kind }) => kind));
        const gaps = [
          ...BEHIND_EACH.filter((kind) => !kinds.has(kind)),
          ...OF_EACH_CASE.filter((kind) => !pinned.has(kind)),
        ];
        expect([serial, gaps]).toEqual([serial, []]);
      }
    }
    for (const file of records.values()) {
      const said = JSON.parse(execFileSync(process.execPath, [CLI, '--json', 'verify', file], { encoding: 'utf8' }));
      expect(said.steps.filter(({ outcome }: { outcome: string }) => outcome === 'does not hold')).toEqual([]);
    }
    // Throws unless it ends with 0.
    execFileSync(process.execPath, [CLI, '--data', folder, 'ledger', 'verify'], { encoding: 'utf8' });
  });
};

const byForms = async () => ({
  seat: async (url: string): Promise<Seat> => new FormSeat(url),
  close: async () => {},
});

async function inWindows() {
  const browser: Browser = await openBrowser();
  const seat = async (url: string): Promise<Seat> =>
    new BrowserSeat(await (await patientContext(browser)).newPage(), url);
  return { seat, close: () => browser.close() };
}

const WAYS = [
  [['pdftotext'], 'the stories of the demo, walked by forms alone', byForms],
  [['chromium', 'pdftotext'], 'the stories of the demo, walked in a browser', inWindows],
] as const;
for (const [tools, said, newSeats] of WAYS) {
  if (process.env.LOTWRIGHT_TEST_LONG) withTools(tools, said, declare(newSeats));
  else describe.skip(`${said} (npm run test:long)`, declare(newSeats));
}
