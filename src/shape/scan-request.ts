import type { Problem } from '../base/errors.js';
import { conversion } from '../base/units.js';
import type { CaseDesign } from '../kinds/cases/case-design.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import type { ChangeRequest, LaidScan } from './measure-change.js';
import type { ShapeRequest } from './measure-shape.js';
import type { Motion } from './motion.js';
import { notRigid } from './motion.js';
import type { MeshFile } from './read-mesh.js';
import type { AskedZone } from './region.js';

/** Where the files of a design lie: its model, and the mesh of each zone that has one. */
export interface DesignFiles {
  readonly model: MeshFile;
  readonly zones: ReadonlyMap<string, MeshFile>;
}

/** The surface of a stock part, with the unit that is stated. */
export interface StockFile {
  readonly file: MeshFile;
  readonly ucum: string;
}

const AXES = ['x', 'y', 'z'] as const;

const mmOf = (ucum: string): number => conversion(ucum, 'mm').factor;

/**
 * What is to be measured of a scan against the design of its implant.
 * @param path where the points lie; @param name as the person knows the file.
 */
export function scanRequest(
  scan: ShapeScan,
  design: CaseDesign,
  { model, zones }: DesignFiles,
  path: string,
  { name = scan.file, stock }: { readonly name?: string; readonly stock?: StockFile | undefined } = {},
): ShapeRequest {
  const [points, mesh] = [mmOf(scan.ucum), mmOf(design.model.ucum)];
  const given = givenMotion(scan, points);
  return {
    points: { file: { path, name, form: scan.form }, mm: points },
    mesh: { file: model, mm: mesh },
    zones: design.zones.map((zone) => zoneOf(zone, zones.get(zone.zone), mesh)),
    ...(stock === undefined ? {} : { stock: { file: stock.file, mm: mmOf(stock.ucum) } }),
    judged: scan.alignment.how,
    ...(given === undefined ? {} : { given }),
    ...(scan.standardUncertaintyMm === undefined ? {} : { uncertaintyMm: Number(scan.standardUncertaintyMm) }),
  };
}

/**
 * What is to be compared of two scans of the stock part of an implant.
 * @param files where the points of both lie.
 */
export function changeRequest(
  scans: { readonly before: ShapeScan; readonly after: ShapeScan },
  files: { readonly before: MeshFile; readonly after: MeshFile },
  design: CaseDesign,
  model: MeshFile,
  stock: StockFile,
): ChangeRequest {
  const laid = (scan: ShapeScan, { path, name }: MeshFile): LaidScan => {
    const points = mmOf(scan.ucum);
    const given = givenMotion(scan, points);
    return {
      points: { file: { path, name, form: scan.form }, mm: points },
      judged: scan.alignment.how,
      ...(given === undefined ? {} : { given }),
      ...(scan.standardUncertaintyMm === undefined ? {} : { uncertaintyMm: Number(scan.standardUncertaintyMm) }),
    };
  };
  return {
    before: laid(scans.before, files.before),
    after: laid(scans.after, files.after),
    stock: { file: stock.file, mm: mmOf(stock.ucum) },
    design: { file: model, mm: mmOf(design.model.ucum) },
  };
}

function zoneOf(
  { zone, box, profileMm, profileInsideMm = profileMm, datum }: CaseDesign['zones'][number],
  mesh: MeshFile | undefined,
  mm: number,
): AskedZone {
  return {
    zone,
    ...(box ? { box: [...AXES.map((k) => Number(box.from[k]) * mm), ...AXES.map((k) => Number(box.to[k]) * mm)] } : {}),
    ...(mesh === undefined ? {} : { mesh }),
    ...(profileMm === undefined ? {} : { outsideMm: Number(profileMm), insideMm: Number(profileInsideMm) }),
    ...(datum ? { isDatum: true } : {}),
  };
}

/** With its shift in mm. */
function givenMotion({ alignment }: ShapeScan, mm: number): Motion | undefined {
  if (alignment.how !== 'least squares' || alignment.matrix === undefined) return undefined;
  return alignment.matrix.map((value, at) => Number(value) * (at % 4 === 3 ? mm : 1));
}

/** Digits with which scanners write a rotation. */
const RIGID = 1e-3;

type Fault = Pick<Problem, 'field' | 'found' | 'expected' | 'remedy'>;

/** What in a scan cannot be measured, whatever its file holds, and whatever it is held against. */
export function scanFaults(scan: ShapeScan): Fault[] {
  const motion = givenMotion(scan, 1);
  return [
    ...(isLength(scan.ucum)
      ? []
      : [
          {
            field: 'ucum',
            found: scan.ucum,
            expected: 'a unit of length',
            remedy: 'state the unit of the coordinates',
          },
        ]),
    ...(motion === undefined || notRigid(motion) <= RIGID
      ? []
      : [
          {
            field: 'alignment.matrix',
            found: 'a matrix that mirrors, stretches or shears',
            expected: 'a rotation with a shift behind each of its rows',
            remedy: 'copy the matrix from the scanner again, row by row',
          },
        ]),
  ];
}

/** What of a design keeps scans from being measured against it. */
export const designFaults = ({ model, revision }: CaseDesign): Fault[] =>
  isLength(model.ucum)
    ? []
    : [
        {
          field: 'against',
          found: `a model of design iteration ${revision} in ${model.ucum}`,
          expected: 'a model in a unit of length',
          remedy: 'correct the unit in the design',
        },
      ];

function isLength(ucum: string): boolean {
  try {
    return conversion(ucum, 'mm').factor > 0;
  } catch {
    return false;
  }
}
