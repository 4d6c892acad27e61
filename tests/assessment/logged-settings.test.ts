import { assess } from '../../src/assessment/assess.js';
import { settingsInZones } from '../../src/assessment/logged-settings.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords } from '../../src/report/assessment-words.js';
import { loggedCells } from '../../src/report/phrases/logged-settings.js';
import { settingRows } from '../../src/report/setting-rows.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

/** One setting of deposition, and what a channel showed in two layers of the zone of the first implant. */
const withSetting = (parameter: Editable, layers: Editable[] = [], windows: Editable[] = []): Facts =>
  edited(facts, ({ recipes, summaries }) => {
    const [deposit] = recipes.get('RC rev 2').body.zones[0].steps;
    Object.assign(deposit, { parameters: [parameter], windows });
    const row = summaries.find((item: Editable) => item.zone === 'I1-span' && item.step === 'deposit');
    summaries.push(...layers.map((layer) => ({ ...row, channel: 'laser_power', ucum: 'W', ...layer })));
  });

const inFirstImplant = (changed: Facts) =>
  settingsInZones(changed).find(({ zone, step }) => zone === 'I1-span' && step === 'deposit')!;

const SHORT = { n: '2', mean: '310', timeWeightedMean: '310', min: '309', max: '311', observedMs: '1000' };
const LONG = { n: '2', mean: '290', timeWeightedMean: '290', min: '288', max: '292', observedMs: '3000' };
const POWER = { parameter: 'laser power', set: '300', ucum: 'W' };
const WINDOW = { channel: 'laser_power', ucum: 'W' };

describe('a set value against what was logged', () => {
  it('weighs the mean of each layer by its time, and knows the channel by the name of the setting', () => {
    const found = inFirstImplant(withSetting({ ...POWER, within: '5' }, [SHORT, LONG]));
    // (310 × 1 s + 290 × 3 s) / 4 s
    expect(found.logged).toEqual({ channel: 'laser_power', mean: 295, min: 288, max: 311 });
    expect(found.allowed).toEqual({ low: 295, high: 305, by: 'deviation' });
    expect(found.standing).toBe('followed');
  });

  it.each([
    ['4.9', 'not followed'],
    ['5', 'followed'],
  ])('holds the mean against a deviation of %s', (within, standing) => {
    expect(inFirstImplant(withSetting({ ...POWER, within }, [SHORT, LONG])).standing).toBe(standing);
  });

  it('names set 290 W where 298 to 306 W was logged', () => {
    const logged = { n: '78', mean: '302', timeWeightedMean: '302', min: '298', max: '306', observedMs: '60000' };
    const found = inFirstImplant(withSetting({ ...POWER, set: '290', within: '5' }, [logged]));
    expect(found).toMatchObject({ standing: 'not followed', logged: { mean: 302, min: 298, max: 306 } });
  });

  it('compares in the unit of the setting', () => {
    const found = inFirstImplant(withSetting({ ...POWER, set: '0.3', ucum: 'kW', within: '0.005' }, [SHORT, LONG]));
    expect(found).toMatchObject({ standing: 'followed', logged: { mean: 0.295, min: 0.288, max: 0.311 } });
  });

  it('takes the band of a window that holds on both sides at the level that asks for a decision', () => {
    const [above, below] = [
      { alert: '305', action: '320' },
      { alert: '299', action: '296' },
    ];
    const by = (...windows: Editable[]) => inFirstImplant(withSetting(POWER, [SHORT, LONG], windows));
    expect(by({ ...WINDOW, above, below })).toMatchObject({
      standing: 'not followed',
      allowed: { low: 296, high: 320, by: 'window' },
    });
    expect(by({ ...WINDOW, above })).toMatchObject({ standing: 'no deviation stated', allowed: null });
    expect(by({ ...WINDOW, above, below, layers: { from: 1, to: 1 } }).standing).toBe('no deviation stated');
  });

  it('does not take a channel without a value for logged', () => {
    const silent = { ...SHORT, n: '0', mean: '', timeWeightedMean: '', min: '', max: '' };
    expect(inFirstImplant(withSetting({ ...POWER, within: '5' }, [silent])).standing).toBe('not logged');
  });

  it('leaves a zone that was not logged in the step to the check of the log', () => {
    const changed = edited(withSetting(POWER), ({ summaries }) => {
      summaries.splice(0, summaries.length, ...summaries.filter(({ zone }: Editable) => zone !== 'I1-span'));
    });
    expect(inFirstImplant(changed).standing).toBe('step not logged');
  });
});

it('says of each setting what was set, logged and allowed, or that nothing was logged', () => {
  const rows = settingRows(withSetting({ ...POWER, within: '5' }, [SHORT, LONG]));
  const deposit = rows.find(({ step, standing }) => step === 'deposit' && standing === 'followed')!;
  expect(deposit.parameter).toMatchObject({ parameter: 'laser power', set: '300', ucum: 'W' });
  expect(loggedCells(deposit)).toEqual(['295', '295 to 305', '288 to 311', 'yes']);
  const peen = rows.find(({ step }) => step === 'peen')!;
  expect(loggedCells(peen)).toEqual([
    'none',
    'none',
    'none',
    'nothing was logged; shown by: read at set-up (invented)',
  ]);
});

it('names what no log shows where the check passes', () => {
  const check = assess(facts, 'test').checks.find(({ code }) => code === 'settings-followed')!;
  expect(check.outcome).toBe('passes');
  expect(basisWords(check)).toBe(
    '0 settings compared with the log; no log shows laser power of deposition in span: power check of the week (invented); no log shows force of peening in span: read at set-up (invented)',
  );
});
