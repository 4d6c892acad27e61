import { sha256Hex } from '../../../src/dossier/canonical.js';
import type { Mesh } from '../../../src/shape/mesh.js';
import type { Cell } from '../cell.js';
import { box, plyText, pointsOn, sequence, stlText } from '../shapes.js';

/** The plate of both designs: a block on which a small one stands near one end, so that its sides are told apart. */
export function plate(): Mesh {
  const [body, boss] = [box(42, 8, 1.5), box(6, 2, 1)];
  // The boss has its own bottom a little inside the body: both are closed, and together the outer surface.
  const raised = boss.corners.map((value, at) => value + [3, 1, 1.4][at % 3]!);
  return {
    corners: Float64Array.from([...body.corners, ...raised]),
    triangles: Uint32Array.from([...body.triangles, ...[...boss.triangles].map((corner) => corner + 8)]),
  };
}

/** Points of the plate as a scanner sees it: none of the faces inside. */
export function seen(points: number, off: (index: number) => number, seed = 4): Float64Array {
  const all = pointsOn(plate(), points * 2, off, sequence(seed));
  const kept: number[] = [];
  for (let at = 0; at < all.length && kept.length < points * 3; at += 3) {
    const [x, y, z] = [all[at]!, all[at + 1]!, all[at + 2]!];
    const isUnderBoss = x > 2.9 && x < 9.1 && y > 0.9 && y < 3.1 && z > 0.2 && z < 1.56;
    if (!isUnderBoss) kept.push(x, y, z);
  }
  return Float64Array.from(kept);
}

/** A scan of each implant of a cell with designs, and two characteristics that take their values from them. */
export function addShapes(cell: Cell, change: (n: number) => (index: number) => number = () => () => 0): void {
  const { documents, files } = cell;
  const lot = documents['lots/L-1/lot.yaml']!;
  lot.scans = [1, 2].map((n) => ({
    specimen: `L-1-I${n}`,
    scan: 'end',
    file: `scans/I${n}.ply`,
    form: 'ply',
    ucum: 'mm',
    when: 'final',
    against: { what: 'design' },
    alignment: { how: 'as given' },
    standardUncertaintyMm: '0.004',
    instrument: 'I-MIC',
    by: 'P-AN',
    at: lot.builds[0].openedAt.replace('T08', 'T10'),
  }));
  const model = stlText(plate());
  for (const n of [1, 2]) {
    const design = documents[`site/cases/K-101-${n}-design.yaml`]!;
    design.zones = [
      {
        zone: 'span',
        box: { from: { x: '12', y: '-1', z: '-1' }, to: { x: '43', y: '9', z: '3' } },
        profileMm: '0.05',
      },
      { zone: 'end', box: { from: { x: '-1', y: '-1', z: '-1' }, to: { x: '12', y: '9', z: '3' } }, profileMm: '0.1' },
    ];
    files[`site/cases/${design.model.file}`] = model;
    documents[`site/cases/K-101-${n}-acceptance.yaml`]!.model = sha256Hex(model);
    files[`lots/L-1/scans/I${n}.ply`] = plyText(seen(600, change(n), n));
  }
  const shape = (characteristic: string, ucum: string, upper: string, zoneClass?: string) => ({
    ...{ characteristic, title: `Shape, ${characteristic}`, ucum, upper, direction: 'lower-is-better' },
    ...{ method: { method: 'TM-S', revision: 1 }, measuredOn: 'implant', replicates: 1, source: 'shape' },
    ...(zoneClass === undefined ? {} : { zoneClass }),
    ...{ decision: { rule: 'guarded', confidence: '0.95' }, rounding: { rule: 'absolute' } },
    ...{ due: 'before-release', plan: 'every-unit' },
  });
  documents['site/specification.yaml']!.characteristics.push(
    shape('shape-share', '%', '1', 'load-bearing'),
    shape('shape-worst', 'um', '60', 'load-bearing'),
  );
}
