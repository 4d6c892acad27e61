import { BadInputError, type Problem } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { shapeValue } from '../dossier/shape-values.js';
import { type ShapeDeviation, shapeKey } from '../kinds/degradation/shape-deviation.js';
import { finalScansOf, type ShapeScan } from '../kinds/lot-after-build.js';
import { noDesignOf } from '../kinds/lot-after-faults.js';
import type { Specification } from '../kinds/specification.js';
import { classOfZone } from '../kinds/zone-class.js';
import type { ShapeRequest } from '../shape/measure-shape.js';
import { MEASURER } from '../shape/measurer.js';
import { scanFaults, scanRequest } from '../shape/scan-request.js';
import { shapeOfFile } from '../shape/shape-of-file.js';
import { shapeBody } from '../shape/told-shape.js';
import type { Store } from '../store/store.js';
import { type AskedScan, type MeasuringOptions, ofScan } from './asked-scan.js';
import { Known } from './known.js';
import { lotComing } from './lots-coming.js';
import type { MeasuredShape } from './measured-shape.js';
import { documentsOf, type LotFolder, type ReadFolder } from './read-folder.js';
import type { SheetRow } from './results-file.js';
import { changeOf, measuredChange } from './shape-changes.js';
import { designFiles, hash, stockOf } from './shape-files.js';

/**
 * Measures the scans of implants that are held against their design, before anything is checked or stored: their results
 * are checked with all others. What was measured before of the same bytes in the same way is not measured again.
 * @throws BadInputError when a scan or a model cannot be used; an AbortError when it was cancelled.
 */
export async function withShapes(store: Store, read: ReadFolder, options: MeasuringOptions): Promise<ReadFolder> {
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
      const change = file && implant && (await changeOf({ store, read, known, folder, now, scan, index, implant }));
      if (change) {
        const measured = await measuredChange(change, options);
        if (measured) shapes.push(measured);
      }
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

async function measuredShape(
  asked: AskedScan,
  { onProgress, signal }: MeasuringOptions,
): Promise<MeasuredShape | undefined> {
  const { store, folder, scan, implant, file, known } = asked;
  const { case: code, designIteration: iteration } = implant;
  const design = await known.body('case-design', code, iteration);
  const files = design && (await designFiles(asked, design));
  // A design that nobody knows is a problem of its own, found with the references.
  if (design === undefined || files === undefined) return undefined;
  refuse(scanFaults(scan, design).map((fault) => ofScan(asked, fault)));
  const stock = await stockOf(asked, implant);
  const from = { name: file.name, ...(stock === undefined ? {} : { stock: stock.file }) };
  const request = scanRequest(scan, design, files, file.path, from);
  const before = await store.read.entries.current('shape-deviation', shapeKey(scan));
  if (before && before.body.lot !== folder.lot.lot) refuse([ofScan(asked, takenBy(before.body.lot, scan))]);
  const of = { case: code, iteration, ...(stock === undefined ? {} : { stockPart: stock.stockPart }) };
  const askedDigest = digestOf({ measurer: MEASURER, ...of, ...(await whatIsAsked(request)) });
  const body =
    before?.body.asked === askedDigest
      ? before.body
      : shapeBody(
          {
            ...{ lot: folder.lot.lot, case: code, iteration, specimen: scan.specimen, scan: scan.scan },
            ...{ asked: askedDigest, stock },
          },
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
    measured: [
      { ...files.model, sha256: body.mesh.sha256 },
      ...(stock && body.stock ? [{ ...stock.file.file, sha256: body.stock.sha256 }] : []),
      ...body.zones.flatMap(({ zone, meshSha256: sha256 }) => {
        const mesh = files.zones.get(zone);
        return mesh && sha256 !== undefined ? [{ ...mesh, sha256 }] : [];
      }),
    ],
    sheet: {
      ...{ file: scan.file, path: file.path, sha256: body.points.sha256, isComputed: true },
      rows: await rowsOf(asked, body),
    },
  };
}

/** Everything that the answer hangs on, with files by their bytes. */
async function whatIsAsked({ points, mesh, zones, stock, ...rest }: ShapeRequest): Promise<object> {
  return {
    ...rest,
    points: { sha256: await hash(points.file), form: points.file.form, mm: points.mm },
    mesh: { sha256: await hash(mesh.file), mm: mesh.mm },
    ...(stock === undefined ? {} : { stock: { sha256: await hash(stock.file), mm: stock.mm } }),
    zones: await Promise.all(
      zones.map(async ({ mesh: own, ...zone }) => (own ? { ...zone, mesh: await hash(own) } : zone)),
    ),
  };
}

/** A scan of the finished part gives a value for each characteristic from shapes: one replicate for each such scan. */
async function rowsOf({ folder, now, scan, implant, known }: AskedScan, body: ShapeDeviation): Promise<SheetRow[]> {
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

function refuse(problems: readonly Problem[]): void {
  if (problems.length > 0) throw new BadInputError(problems);
}
