import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { systemClock } from '../../src/base/clock.js';
import { PIN_LOT, PINS } from '../../src/qualification/pins/pin-lot.js';
import { PROFILE } from '../../src/qualification/pins/pin-site.js';
import { temporaryFolder } from '../support/cell.js';
import { CellOnPages, type Member } from '../support/cell-on-pages.js';
import { pinsBuiltToday, pinsPlannedToday, siteOfToday } from '../support/pins-of-today.js';
import { withTool } from '../support/tools.js';
import { issueAndVerify } from '../support/verified-record.js';

/** The people of the demo, and somebody who keeps their accounts. Certificates name the process engineer, who looks first. */
const MEMBERS: readonly Member[] = [
  { person: 'AD', name: 'Ada Example', role: 'administrator', password: 'one quiet lantern of brass' },
  { person: 'AL', name: 'Ada Lindmark', role: 'process engineer', password: 'four quiet lanterns of iron' },
  { person: 'TO', name: 'Tomas Okoro', role: 'quality engineer', password: 'two quiet lanterns of tin' },
  { person: 'SA', name: 'Sefa Aydin', role: 'releaser', password: 'three quiet lanterns of zinc' },
  { person: 'IM', name: 'Ines Marbach', role: 'analyst', password: 'five quiet lanterns of lead' },
  { person: 'LP', name: 'Lena Petri', role: 'analyst', password: 'six quiet lanterns of steel' },
  { person: 'JV', name: 'Joris Veldkamp', role: 'operator', password: 'seven quiet lanterns of gold' },
];
const WHAT = 'pins of a second alloy go from what was received to a release on the pages alone';

function walk(): void {
  let site: CellOnPages;
  beforeAll(async () => {
    site = await CellOnPages.open({ width: 1280, scripts: false, byKeys: false }, MEMBERS);
  });
  afterAll(() => site?.close());

  it('has the cell as it stood, signed by its people', async () => {
    await site.makeAccounts();
    await site.bringIn('AL', siteOfToday());
    await site.everybodySigns();
  });

  it('plans the lot from a blend in quarantine, issues a bottle to it by a scanned code, and allows it at risk', async () => {
    await site.bringIn('AL', pinsPlannedToday());
    await site.everybodySigns();
    const hand = site.hand('JV');
    await hand.open(`${site.url}/materials`);
    await hand.fill('[name=code]', 'B-7');
    await hand.choose('[name=build]', 'HC-1-301');
    await hand.press('form[action="/materials/issue"] button');
    await hand.open(`${site.url}/find?id=B-7`);
    expect(await hand.said()).toContain('HC-1-301');
    for (const person of ['AL', 'TO'])
      expect([person, await site.signNext(person, ['decided'])]).toEqual([person, true]);
  });

  it('is built and finished, its certificate comes late, and its export is read by a profile', async () => {
    const { cell, exported, doneAt } = pinsBuiltToday();
    await sleep(Math.max(0, doneAt - systemClock.now().getTime()));
    await site.bringIn('JV', cell);
    const file = path.join(temporaryFolder('export'), 'icp.csv');
    fs.writeFileSync(file, exported);
    const hand = site.hand('IM');
    await hand.open(`${site.url}/sheets/${PIN_LOT}`);
    await hand.press(`a[href="/intake/export/${PIN_LOT}"]`);
    await hand.choose('[name=profile]', PROFILE);
    await hand.choosesFile('#files', file);
    await hand.press('main form[enctype] button');
    await site.storeWhatCame(hand);
    await site.everybodySigns();
  });

  it('is reviewed and released, with its heats, its burn-off and its wear on its pages', async () => {
    await site.checkFolder();
    await site.assess('TO', PIN_LOT);
    const hand = site.hand('TO');
    expect(await hand.said()).toContain('2 may be released');
    await hand.open(`${site.url}/lots/${PIN_LOT}/materials`);
    for (const told of ['68.0 % Z77', '−8.73 %: lost on the way', 'PV-3 rev 1, report PQ-ZP-1 annex C'])
      expect(await hand.said()).toContain(told);
    expect(await site.signNext('TO', ['reviewed'])).toBe(true);
    expect(await site.signNext('SA', ['released'])).toBe(true);
    const decided = await issueAndVerify(site, 'SA', PIN_LOT, PINS);
    expect(decided.slice(-2)).toEqual([
      ['reviewed', 'TO', []],
      ['released', 'SA', PINS],
    ]);
  });
}

if (process.env.LOTWRIGHT_TEST_LONG) withTool('chromium', WHAT, walk);
else describe.skip(`${WHAT} (npm run test:long)`, walk);
