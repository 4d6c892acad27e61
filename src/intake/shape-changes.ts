import { BadInputError, type Problem } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import type { ShapeChange } from '../kinds/degradation/shape-change.js';
import { shapeKey } from '../kinds/degradation/shape-deviation.js';
import type { Implant } from '../kinds/lot.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import type { ChangeRequest, LaidScan } from '../shape/measure-change.js';
import { MEASURER } from '../shape/measurer.js';
import type { MeshFile } from '../shape/read-mesh.js';
import { changeRequest, designFaults, scanFaults } from '../shape/scan-request.js';
import { changeOfFiles } from '../shape/shape-of-file.js';
import { changeBody } from '../shape/told-change.js';
import type { Reads } from '../store/repositories.js';
import { type AskedScan, type MeasuringOptions, ofScan } from './asked-scan.js';
import type { MeasuredShape } from './measured-shape.js';
import { designFiles, type FilesAsked, hash, scanFile, stockOf } from './shape-files.js';

/** Two scans of the stock part of an implant, of which the later one names the earlier. */
interface ChangeAsked extends FilesAsked, Pick<AskedScan, 'folder' | 'index'> {
  readonly implant: Implant;
  readonly before: ShapeScan;
  readonly after: ShapeScan;
  readonly files: { readonly before: MeshFile; readonly after: MeshFile };
}

/** What is to be compared where a scan is held against an earlier one of the stock; undefined where it is not. */
export async function changeOf(asked: Omit<AskedScan, 'file'>): Promise<ChangeAsked | undefined> {
  const { folder, now, scan, implant } = asked;
  const { against } = scan;
  if (against.what !== 'scan' || implant.builtOn === undefined) return undefined;
  const before = now.scans?.find((one) => one.specimen === scan.specimen && one.scan === against.scan);
  // What is wrong with the earlier one is told of it.
  if (before?.against.what !== 'stock part' || scanFaults(before).length > 0) return undefined;
  const [first, then] = [await scanFile(asked, folder, before), await scanFile(asked, folder, scan)];
  if (first === undefined || then === undefined) return undefined;
  return { ...asked, before, after: scan, files: { before: first, after: then } };
}

/** Comparisons that lots which were split from this one made with a scan of it. */
export async function comparedInOthers(
  { entries }: Pick<Reads, 'entries'>,
  lot: string,
  { specimen, scan }: Pick<ShapeScan, 'specimen' | 'scan'>,
): Promise<ShapeChange[]> {
  const all = await entries.revisionsStarting('shape-change', `${specimen}:`);
  // Revisions of one comparison stand in their order.
  const latest = new Map(all.map((one) => [one.key, one.body]));
  return [...latest.values()].filter((one) => one.lot !== lot && one.before.scan === scan);
}

/**
 * Whether a scan comes in with other bytes than those that a lot which was split from this one compared a later scan with.
 * @param file its points.
 */
export async function comparedElsewhere(
  { store, folder, scan }: Omit<AskedScan, 'implant' | 'file'>,
  file: MeshFile,
): Promise<Pick<Problem, 'field' | 'found' | 'expected' | 'remedy'> | undefined> {
  const others = await comparedInOthers(store.read, folder.lot.lot, scan);
  const sha256 = others.length === 0 ? undefined : await hash(file);
  const other = others.find(({ before }) => before.points.sha256 !== sha256);
  return other === undefined
    ? undefined
    : {
        field: 'file',
        found: `${scan.file} with other points than scan ${other.scan} of lot ${other.lot} was compared with`,
        expected: 'the scan that lots split from this one rest on',
        remedy: 'give the new scan a name of its own, and compare the later one with that',
      };
}

/**
 * Compares two scans of a stock part, unless the same bytes were compared in the same way before.
 * @throws BadInputError when a scan or a mesh cannot be used.
 */
export async function measuredChange(
  asked: ChangeAsked,
  { onProgress, signal }: MeasuringOptions,
): Promise<MeasuredShape | undefined> {
  const { store, folder, known, implant, before, after, files } = asked;
  const { case: code, designIteration: iteration, serial: specimen } = implant;
  const design = await known.body('case-design', code, iteration);
  const meshes = design && (await designFiles(asked, design));
  const stock = await stockOf(asked, implant);
  // What nobody knows is a problem of its own, found with the references; without a mesh nothing can be compared.
  if (design === undefined || meshes === undefined || stock === undefined) return undefined;
  const faults = designFaults(design).map((fault) => ofScan(asked, fault));
  if (faults.length > 0) throw new BadInputError(faults);
  const request = changeRequest({ before, after }, files, design, meshes.model, stock.file);
  const { stockPart } = stock;
  const of = { lot: folder.lot.lot, case: code, iteration, specimen, scan: after.scan, stockPart };
  const askedDigest = digestOf({ measurer: MEASURER, ...of, against: before.scan, ...(await whatIsAsked(request)) });
  const earlier = await store.read.entries.current('shape-change', shapeKey(after));
  const body =
    earlier?.body.asked === askedDigest
      ? earlier.body
      : changeBody(
          { ...of, asked: askedDigest },
          before.scan,
          request,
          await changeOfFiles(request, (progress) => onProgress?.(files.after.name, progress), signal),
        );
  const links = [
    { name: 'of case', to: { kind: 'case', key: code } },
    { name: 'scan', to: { evidence: body.after.points.sha256 } },
  ];
  const name = `stock of ${specimen}, scan ${after.scan} against ${before.scan}`;
  const measured = [
    { ...files.before, sha256: body.before.points.sha256 },
    { ...files.after, sha256: body.after.points.sha256 },
    { ...stock.file.file, sha256: body.stock.sha256 },
    { ...meshes.model, sha256: body.design.sha256 },
  ];
  return { entry: { kind: 'shape-change', key: shapeKey(after), name, body, links }, measured };
}

/** Everything that the answer hangs on, with files by their bytes. */
async function whatIsAsked({ before, after, stock, design }: ChangeRequest): Promise<object> {
  const scan = async ({ points: { file, mm }, ...rest }: LaidScan) => ({
    ...rest,
    points: { sha256: await hash(file), form: file.form, mm },
  });
  return {
    before: await scan(before),
    after: await scan(after),
    stock: { sha256: await hash(stock.file), mm: stock.mm },
    design: { sha256: await hash(design.file), mm: design.mm },
  };
}
