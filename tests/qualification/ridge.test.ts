import path from 'node:path';
import { implantView } from '../../src/desk/implant-view.js';
import { lotMaterialsView } from '../../src/desk/lot-materials-view.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import { STOCK_LOT, STOCK_PART, STOCK_SERIAL } from '../../src/qualification/stock/stock-lot.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { withChangedByte } from '../support/changed-byte.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';

/** A part built on stock, from its bar to the comparison before and after. */

let services: Services;
let lot: AssessedLot;
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
  lot = (await services.current.of(STOCK_LOT))!;
});
afterAll(() => services.store.close());

it('conforms: the bar accepted, unchanged where nothing was built, the interface tested, the ridge within its profile', () => {
  const { assessment } = lot;
  expect(assessment.units.map(({ serial, verdict }) => [serial, verdict])).toEqual([[STOCK_SERIAL, 'conforms']]);
  const outcomes = new Map<string, string>(assessment.checks.map(({ code, outcome }) => [code, outcome]));
  for (const code of [
    'stock-part-accepted',
    'stock-kept',
    'interface-tested',
    'shape-within-profile',
    'material-accepted',
  ])
    expect([code, outcomes.get(code)]).toEqual([code, 'passes']);
});

it('shows the bar with its heat, receipt and certificate where the metal came from, and among the metal of the implant', () => {
  const [figure] = lotMaterialsView(lot.facts).figures;
  for (const part of ['H9001 to R-401', `R-401 to ${STOCK_PART}`, `${STOCK_PART} to ${STOCK_SERIAL} built on`])
    expect(figure!.svg).toContain(part);
  expect(figure!.svg).toContain('certificate SB-C-H9001');
  const { stock, metal } = implantView(lot, STOCK_SERIAL);
  expect(stock).toMatchObject([{ stockPart: STOCK_PART, heats: [{ heat: 'H9001' }], receipts: ['R-401'] }]);
  expect(metal.map(({ heats }) => heats.join()).sort()).toEqual(['H6604', 'H7120']);
});

it('rests on its certificate, mesh and scans, of each of which one changed byte is named', async () => {
  const found = async (folder: string) => {
    const steps = new Steps();
    await checkEvidence(lot.facts, folder, steps);
    return steps.list.filter(({ outcome }) => outcome === 'does not hold');
  };
  const { evidence } = services.store.folder;
  expect(await found(evidence)).toEqual([]);
  for (const name of ['SB-C-H9001.txt', 'bar-7.stl', 'bare.ply', 'built.ply']) {
    const file = lot.facts.evidence.find(({ fileName }) => path.basename(fileName) === name)!;
    expect(await found(withChangedByte(evidence, file.sha256))).toContainEqual(
      expect.objectContaining({ step: 'evidence', facts: { files: [file.fileName] } }),
    );
  }
});
