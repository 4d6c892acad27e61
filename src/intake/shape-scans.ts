import { BadInputError, type Problem } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { shapeValue } from '../dossier/shape-values.js';
import { type ShapeDeviation, shapeKey } from '../kinds/degradation/shape-deviation.js';
import { finalScansOf, type ShapeScan } from '../kinds/lot-after-build.js';
import type { Specification } from '../kinds/specification.js';
import { classOfZone } from '../kinds/zone-class.js';
import type { ShapeRequest } from '../shape/measure-shape.js';
import { MEASURER } from '../shape/measurer.js';
import { designFaults, scanFaults, scanRequest } from '../shape/scan-request.js';
import { shapeOfFile } from '../shape/shape-of-file.js';
import { shapeBody } from '../shape/told-shape.js';
import type { Store } from '../store/store.js';
import { type AskedScan, type MeasuringOptions, ofScan } from './asked-scan.js';
import { Known } from './known.js';
import { lotComing } from './lots-coming.js';
import type { MeasuredShape } from './measured-shape.js';
import { documentsOf, type LotFolder, type ReadFolder } from './read-folder.js';
import type { SheetRow } from './results-file.js';
import { changeOf, comparedElsewhere, measuredChange } from './shape-changes.js';
import { designFiles, hash, stockOf } from './shape-files.js';

/** What comes in with its scans measured, and what is wrong with scans, models and stock. */
export interface Shaped {
  readonly read: ReadFolder;
  readonly problems: readonly Problem[];
}

/**
 * Measures the scans of implants that are held against their design, before anything is checked or stored: their results
 * are checked with all others. What was measured before of the same bytes in the same way is not measured again.
 * @throws AbortError when it was cancelled.
 */
export async function withShapes(store: Store, read: ReadFolder, options: MeasuringOptions): Promise<Shaped> {
  if (!read.lots.some(({ lot, isStored }) => !isStored && lot.scans)) return { read, problems: [] };
  const known = new Known(store.read, documentsOf(read));
  const lots: LotFolder[] = [];
  const found = new Map<string, Problem>();
  /** Lots by the scans that come in with them. */
  const coming = new Map<string, string>();
  for (const folder of read.lots) {
    const { scans = [] } = folder.isStored ? {} : folder.lot;
    if (scans.length === 0) {
      lots.push(folder);
      continue;
    }
    const shapes: MeasuredShape[] = [];
    const now = await lotComing(folder.lot, documentsOf(read), known, store.read);
    for (const [index, scan] of scans.entries()) {
      const asked = { store, read, known, folder, now, scan, index };
      const { shapes: own, problems } = await measuredScan(asked, coming, options).catch(problemsOf);
      shapes.push(...own);
      // Of one model that several scans are held against it is told once.
      for (const problem of problems) found.set(JSON.stringify(problem), problem);
    }
    lots.push(shapes.length === 0 ? folder : { ...folder, shapes });
  }
  return { read: { ...read, lots }, problems: [...found.values()] };
}

interface ToldScan {
  readonly shapes: readonly MeasuredShape[];
  readonly problems: readonly Problem[];
}

const wrong = (problems: readonly Problem[]): ToldScan => ({ shapes: [], problems });

/** Any other error ends it. */
function problemsOf(error: unknown): ToldScan {
  if (!(error instanceof BadInputError)) throw error;
  return wrong(error.problems);
}

/** A scan is compared with an earlier one of the stock, or held against the design. */
async function measuredScan(
  asked: Omit<AskedScan, 'implant' | 'file'>,
  coming: Map<string, string>,
  options: MeasuringOptions,
): Promise<ToldScan> {
  const { folder, now, scan, index } = asked;
  const { lot } = folder.lot;
  const { what } = scan.against;
  const faults = scanFaults(scan).map((fault) => ofScan(asked, fault));
  const file = folder.files.find(({ field }) => field === `scans[${index}].file`);
  // What is not there is a problem of its own.
  if (faults.length > 0 || file === undefined) return wrong(faults);
  if (what === 'stock part') {
    const fault = await comparedElsewhere(asked, file);
    return wrong(fault === undefined ? [] : [ofScan(asked, fault)]);
  }
  const implant = now.implants.find(({ serial }) => serial === scan.specimen);
  // A coupon has no design: that is told with what else contradicts itself.
  if (implant === undefined) return wrong([]);
  if (what === 'scan') {
    const change = await changeOf({ ...asked, implant });
    return told(change && (await measuredChange(change, options)));
  }
  const other = coming.get(shapeKey(scan));
  if (other !== undefined && other !== lot) return wrong([ofScan(asked, takenBy(other, scan))]);
  coming.set(shapeKey(scan), lot);
  return told(await measuredShape({ ...asked, implant, file }, options));
}

const told = (shape: MeasuredShape | undefined): ToldScan => ({ shapes: shape ? [shape] : [], problems: [] });

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
  refuse(designFaults(design).map((fault) => ofScan(asked, fault)));
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
