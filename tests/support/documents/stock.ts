import { sha256Hex } from '../../../src/dossier/canonical.js';
import type { Cell } from '../cell.js';
import { box, plyText, pointsOn, sequence, stlText } from '../shapes.js';
import { addDesigns } from './designs.js';
import { plate, seen } from './shapes.js';

/** The bar under both plates: their body without the boss that is built on it. */
export const bar = () => box(42, 8, 1.5);

/** Points of the bar as it was before. */
export const bare = (points: number, off: (index: number) => number = () => 0, seed = 9): Float64Array =>
  pointsOn(bar(), points, off, sequence(seed));

const READY = '2031-03-02T15:00:00+01:00';
const ACCEPTED = '2031-02-20T09:00:00+01:00';
export const PREPARATION = 'milled dry, wiped with ethanol';

/** The bars of a cell, one for each part: those of implants are B-1 and B-2, those of coupons B-3 and B-4. */
export const stockDocument = (n: number, more: Record<string, unknown> = { receipt: 'R-BAR' }) => ({
  kind: 'stock-part',
  format: 1,
  stockPart: `B-${n}`,
  ...more,
  material: 'mg-bar',
  mesh: { file: 'bar.stl', ucum: 'mm' },
  acceptance: { by: 'P-QE', at: ACCEPTED },
  interface: { zone: 'span', preparation: PREPARATION, prepared: [{ by: 'P-OP', at: READY }] },
});

/**
 * Both implants of a cell and their coupons are built on bars, scanned before and after, and their finished shape is scanned
 * against the design. What lies where metals meet is the class of their one zone.
 * @param off by how much each scanned point lies off: of the bar before, and of the finished implant.
 */
export function addStock(
  cell: Cell,
  off: { readonly before?: (n: number) => number; readonly after?: (n: number) => number } = {},
): void {
  addDesigns(cell);
  const { documents, files } = cell;
  const receipt =
    documents['site/receipt.yaml'] ?? Object.values(documents).find(({ receipt: code }) => code === 'R-1')!;
  documents['site/bar.yaml'] = {
    ...structuredClone(receipt),
    ...{ receipt: 'R-BAR', material: 'mg-bar', category: 'stock part', supplierLot: 'BAR-7', heats: ['H-BAR'] },
    quantity: { value: '4', ucum: '1' },
  };
  for (const name of ['massG', 'state', 'atomisation', 'container', 'labelLot'])
    delete documents['site/bar.yaml'][name];
  for (const n of [1, 2, 3, 4]) documents[`site/stock-${n}.yaml`] = stockDocument(n);
  files['site/bar.stl'] = stlText(bar());
  const lot = documents['lots/L-1/lot.yaml']!;
  const at = (hour: string) => lot.builds[0].openedAt.replace('T08', `T${hour}`);
  lot.implants.forEach((implant: { builtOn?: string }, index: number) => {
    implant.builtOn = `B-${index + 1}`;
  });
  lot.coupons.forEach((coupon: { builtOn?: string }, index: number) => {
    coupon.builtOn = `B-${index + 3}`;
  });
  const scan = (n: number, name: string, more: Record<string, unknown>) => ({
    ...{ specimen: `L-1-I${n}`, scan: name, file: `scans/I${n}-${name}.ply`, form: 'ply', ucum: 'mm' },
    ...{ alignment: { how: 'as given' }, standardUncertaintyMm: '0.004', instrument: 'I-MIC', by: 'P-AN' },
    ...more,
  });
  lot.scans = [1, 2].flatMap((n) => [
    scan(n, 'bare', { when: 'before', against: { what: 'stock part' }, at: '2031-03-02T16:00:00+01:00' }),
    scan(n, 'built', { when: 'after', against: { what: 'scan', scan: 'bare' }, at: at('10') }),
    scan(n, 'end', { when: 'final', against: { what: 'design' }, at: at('11') }),
  ]);
  const model = stlText(plate());
  for (const n of [1, 2]) {
    const design = documents[`site/cases/K-101-${n}-design.yaml`]!;
    design.zones = [
      {
        zone: 'rest',
        box: { from: { x: '12', y: '-1', z: '-1' }, to: { x: '43', y: '9', z: '3' } },
        profileMm: '0.05',
      },
      { zone: 'end', box: { from: { x: '-1', y: '-1', z: '-1' }, to: { x: '12', y: '9', z: '3' } }, profileMm: '0.1' },
    ];
    files[`site/cases/${design.model.file}`] = model;
    documents[`site/cases/K-101-${n}-acceptance.yaml`]!.model = sha256Hex(model);
    const { before = () => 0, after = () => 0 } = off;
    files[`lots/L-1/scans/I${n}-bare.ply`] = plyText(bare(6000, () => before(n), n));
    const built = plyText(seen(6000, () => after(n), n + 20));
    files[`lots/L-1/scans/I${n}-built.ply`] = built;
    files[`lots/L-1/scans/I${n}-end.ply`] = built;
  }
  const specification = documents['site/specification.yaml']!;
  const own = ({ material }: { material: string }) => material === 'mg-powder';
  specification.materials.push(
    ...specification.materials.filter(own).map((limit: object) => ({ ...limit, material: 'mg-bar' })),
  );
  specification.builtOnStock = {
    faceHours: '48',
    mostChangeMm: '0.05',
    interface: [
      { tells: 'bond', characteristic: 'rm' },
      { tells: 'hardness', notMeasured: 'shown by the process validation (invented)' },
      { tells: 'porosity', notMeasured: 'shown by the process validation (invented)' },
    ],
  };
  specification.shape = { leastScannedPercent: '60' };
}
