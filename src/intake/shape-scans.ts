import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { BadInputError, type Problem } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { shapeValue } from '../dossier/shape-values.js';
import type { CaseDesign } from '../kinds/cases/case-design.js';
import { type ShapeDeviation, shapeKey } from '../kinds/degradation/shape-deviation.js';
import type { Implant } from '../kinds/lot.js';
import { finalScansOf, type ShapeScan } from '../kinds/lot-after-build.js';
import { noDesignOf } from '../kinds/lot-after-faults.js';
import type { Specification } from '../kinds/specification.js';
import type { LotNow } from '../kinds/split-lot.js';
import { classOfZone } from '../kinds/zone-class.js';
import type { ShapeProgress, ShapeRequest } from '../shape/measure-shape.js';
import { MEASURER } from '../shape/measurer.js';
import { type DesignFiles, scanFaults, scanRequest } from '../shape/scan-request.js';
import { shapeOfFile } from '../shape/shape-of-file.js';
import { shapeBody } from '../shape/told-shape.js';
import type { Store } from '../store/store.js';
import { bodyIf, Known } from './known.js';
import { lotComing } from './lots-coming.js';
import type { MeasuredShape } from './measured-shape.js';
import { documentsOf, type LotFolder, type ReadFolder, type ReferencedFile } from './read-folder.js';
import type { SheetRow } from './results-file.js';

interface Options {
  readonly onProgress?: ((file: string, progress: ShapeProgress) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

/**
 * Measures the scans of implants that are held against their design, before anything is checked or stored: their results
 * are checked with all others. What was measured before of the same bytes in the same way is not measured again.
 * @throws BadInputError when a scan or a model cannot be used; an AbortError when it was cancelled.
 */
export async function withShapes(store: Store, read: ReadFolder, options: Options): Promise<ReadFolder> {
  if (!read.lots.some(({ lot, isStored }) => !isStored && lot.scans)) return read;
  const known = new Known(store.read, documentsOf(read));
  const lots: LotFolder[] = [];
  /** Lots by the scans that come in with them. */
  const coming = new Map<string, string>();
  for (const folder of read.lots) {
    if (folder.isStored || !folder.lot.scans) {
      lots.push(folder);
      continue;
    }
    const shapes: MeasuredShape[] = [];
    const now = await lotComing(folder.lot, documentsOf(read), known, store.read);
    for (const [index, scan] of folder.lot.scans.entries()) {
      const implant = now.implants.find(({ serial }) => serial === scan.specimen);
      const file = folder.files.find(({ field }) => field === `scans[${index}].file`);
      if (file === undefined || scan.against.what !== 'design') continue;
      if (now.coupons.some(({ coupon }) => coupon === scan.specimen))
        refuse([ofScan({ folder, index }, { field: 'against', ...noDesignOf(scan.specimen) })]);
      if (implant === undefined) continue;
      const asked = { store, read, known, folder, now, scan, index, implant, file };
      const other = coming.get(shapeKey(scan));
      if (other !== undefined && other !== folder.lot.lot) refuse([ofScan(asked, takenBy(other, scan))]);
      coming.set(shapeKey(scan), folder.lot.lot);
      const measured = await measuredShape(asked, options);
      if (measured) shapes.push(measured);
    }
    lots.push(shapes.length === 0 ? folder : { ...folder, shapes });
  }
  return { ...read, lots };
}

interface Asked {
  readonly store: Store;
  readonly read: ReadFolder;
  readonly known: Known;
  readonly folder: LotFolder;
  /** The lot of the folder with what came over. */
  readonly now: LotNow;
  readonly scan: ShapeScan;
  readonly index: number;
  readonly implant: Implant;
  readonly file: ReferencedFile;
}

async function measuredShape(asked: Asked, { onProgress, signal }: Options): Promise<MeasuredShape | undefined> {
  const { store, folder, scan, implant, file, known } = asked;
  const { case: code, designIteration: iteration } = implant;
  const design = await known.body('case-design', code, iteration);
  const files = design && (await designFiles(asked, design));
  // A design that nobody knows is a problem of its own, found with the references.
  if (design === undefined || files === undefined) return undefined;
  refuse(scanFaults(scan, design).map((fault) => ofScan(asked, fault)));
  const request = scanRequest(scan, design, files, file.path, file.name);
  const before = await store.read.entries.current('shape-deviation', shapeKey(scan));
  if (before && before.body.lot !== folder.lot.lot) refuse([ofScan(asked, takenBy(before.body.lot, scan))]);
  const askedDigest = digestOf({ measurer: MEASURER, case: code, iteration, ...(await whatIsAsked(request)) });
  const body =
    before?.body.asked === askedDigest
      ? before.body
      : shapeBody(
          { lot: folder.lot.lot, case: code, iteration, specimen: scan.specimen, scan: scan.scan, asked: askedDigest },
          request,
          await shapeOfFile(request, (progress) => onProgress?.(file.name, progress), signal),
        );
  const links = [
    { name: 'of case', to: { kind: 'case', key: code } },
    { name: 'scan', to: { evidence: body.points.sha256 } },
  ];
  const { specimen } = scan;
  const name = `shape of ${specimen}, scan ${scan.scan}`;
  return {
    entry: { kind: 'shape-deviation', key: shapeKey(scan), name, body, links },
    sheet: {
      ...{ file: scan.file, path: file.path, sha256: body.points.sha256, isComputed: true },
      rows: await rowsOf(asked, body),
    },
  };
}

/** Everything that the answer hangs on, with files by their bytes. */
async function whatIsAsked({ points, mesh, zones, ...rest }: ShapeRequest): Promise<object> {
  const hash = async ({ path }: { readonly path: string }) => {
    const sum = createHash('sha256');
    for await (const chunk of createReadStream(path) as AsyncIterable<Buffer>) sum.update(chunk);
    return sum.digest('hex');
  };
  return {
    ...rest,
    points: { sha256: await hash(points.file), form: points.file.form, mm: points.mm },
    mesh: { sha256: await hash(mesh.file), mm: mesh.mm },
    zones: await Promise.all(
      zones.map(async ({ mesh: own, ...zone }) => (own ? { ...zone, mesh: await hash(own) } : zone)),
    ),
  };
}

/** The files of a design that comes in with the scan, or of one that is stored. */
async function designFiles({ store, read }: Asked, design: CaseDesign): Promise<DesignFiles | undefined> {
  const { case: code, revision, model, zones } = design;
  const coming = read.site.find(({ document }) => {
    const body = bodyIf('case-design', document);
    return body?.case === code && body.revision === revision;
  });
  if (coming) {
    const at = (field: string) => coming.files.find((file) => file.field === field);
    const found = at('model.file');
    const meshes = zones.flatMap(({ zone }, index) => {
      const file = at(`zones[${index}].mesh`);
      return file ? [[zone, file] as const] : [];
    });
    return found && { model: found, zones: new Map(meshes) };
  }
  const named = await store.read.entries.evidenceNamedBy([{ kind: 'case-design', key: code, revision }]);
  const pathOf = (sha256: string) => store.evidence.pathOf(sha256);
  const stored = named.find(({ name }) => name === 'model');
  if (stored === undefined) return undefined;
  // Meshes of zones are named in their order.
  const meshes = named.filter(({ name }) => name === 'attachment');
  const withMesh = zones.flatMap(({ zone, mesh }) => (mesh === undefined ? [] : [{ zone, mesh }]));
  const own = await Promise.all(
    withMesh.map(async ({ zone, mesh }, at) => [zone, { path: await pathOf(meshes[at]!.sha256), name: mesh }] as const),
  );
  return { model: { path: await pathOf(stored.sha256), name: model.file }, zones: new Map(own) };
}

/** A scan of the finished part gives a value for each characteristic from shapes: one replicate for each such scan. */
async function rowsOf({ folder, now, scan, implant, known }: Asked, body: ShapeDeviation): Promise<SheetRow[]> {
  if (scan.when !== 'final') return [];
  const { specification, revision } = folder.lot.specification;
  const judgedBy: Specification | undefined = await known.body('specification', specification, revision);
  const recipe = await known.body('recipe', implant.recipe.recipe, implant.recipe.revision);
  // Scans of a unit that came over count on: its first one here is none of its first.
  const finals = finalScansOf(now.scans, scan.specimen);
  return (judgedBy?.characteristics ?? []).flatMap((item) => {
    if (item.source !== 'shape' || item.measuredOn !== 'implant') return [];
    const { zoneClass } = item;
    const isOf = (zone: string) => zoneClass === undefined || classOfZone(implant, recipe, zone) === zoneClass;
    const found = shapeValue(body, item, isOf);
    if (found === undefined) return [];
    return [
      {
        ...{ line: 1, specimen: scan.specimen, piece: '', characteristic: item.characteristic },
        ...{ replicate: finals.indexOf(scan) + 1, ...found, startedAt: '', measuredAt: scan.at },
        ...{ instrument: scan.instrument, analyst: scan.by },
        ...{ method: item.method.method, methodRevision: item.method.revision },
        ...{ enteredBy: '', checkedBy: '', reason: folder.lot.reason ?? '' },
      },
    ];
  });
}

/** A measurement is kept by unit and scan: a second of that name would take the place of the first. */
const takenBy = (lot: string, { specimen, scan }: ShapeScan) => ({
  field: 'scan',
  found: `scan ${scan} of ${specimen}, which lot ${lot} has already`,
  expected: 'a name that no other scan of this unit has, in whatever lot',
  remedy: 'give the new scan a name of its own',
});

function ofScan(
  { folder, index }: Pick<Asked, 'folder' | 'index'>,
  { field, ...fault }: Pick<Problem, 'field' | 'found' | 'expected' | 'remedy'>,
): Problem {
  const at = `scans[${index}].${field}`;
  const { file, lineOf } = folder.document;
  return { code: 'shape-scan', file, line: lineOf(at), field: at, ...fault };
}

function refuse(problems: readonly Problem[]): void {
  if (problems.length > 0) throw new BadInputError(problems);
}
