import { assess } from '../../src/assessment/assess.js';
import { zoneTable } from '../../src/report/zone-table.js';
import { logText } from '../support/cell.js';
import { factsOf } from '../support/lot-facts.js';
import { signedFacts } from '../support/signed-facts.js';

it('shows limits, results and findings of each zone, with the layers on which a finding lies', async () => {
  const facts = signedFacts(
    await factsOf(({ files, documents }) => {
      // Oxygen at reject level while the second implant is peened at layer 2.
      files['lots/L-1/logs/run.csv'] = logText('2031-03-03', (_, zone, step, layer) =>
        zone === 'I2-span' && step === 'peen' && layer === 2 ? 120 : 8,
      );
      documents['site/recipe.yaml']!.zones[0].steps[0].windows = [
        { channel: 'oxygen', ucum: '[ppm]', above: { action: '320', reject: '340' }, below: { reject: '1' } },
      ];
    }),
  );
  const [first, second] = zoneTable(facts, assess(facts, 'test'));
  expect(first!.zones).toMatchObject([
    {
      zone: 'I1-span',
      recipeZone: 'span',
      title: 'bridge span',
      zoneClass: 'load-bearing',
      layers: { from: 1, to: 4 },
      findings: [],
      results: [{ characteristic: 'rm', limits: 'at least 215 MPa', verdict: 'conforms' }],
    },
  ]);
  expect(first!.zones[0]!.steps).toEqual([
    {
      step: 'deposit',
      everyLayers: 1,
      settings: ['laser power 300 W'],
      windows: ['oxygen /ppm: below reject 1; above action 320, reject 340'],
    },
    { step: 'peen', everyLayers: 2, settings: ['force 40 N'], windows: [] },
  ]);
  expect(first!.whole).toMatchObject([{ characteristic: 'thickness', verdict: 'conforms' }]);
  const [zone] = second!.zones;
  expect(zone!.verdict).toBe('does not conform');
  expect(zone!.findings).toContainEqual(
    expect.objectContaining({
      level: 'reject',
      layers: { from: 2, to: 2 },
      verdict: 'does not conform',
      says: expect.stringContaining('excursion of oxygen to 120 ppm'),
    }),
  );
});
