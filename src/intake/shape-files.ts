import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import type { CaseDesign } from '../kinds/cases/case-design.js';
import type { Implant } from '../kinds/lot.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import type { MeshFile } from '../shape/read-mesh.js';
import type { DesignFiles, StockFile } from '../shape/scan-request.js';
import type { Store } from '../store/store.js';
import { bodyIf, type Known } from './known.js';
import type { LotFolder, ReadFolder } from './read-folder.js';

/** Where the meshes lie against which scans are measured. */
export interface FilesAsked {
  readonly store: Store;
  readonly read: ReadFolder;
  readonly known: Known;
}

/** SHA-256 of a file. */
export async function hash({ path }: { readonly path: string }): Promise<string> {
  const sum = createHash('sha256');
  for await (const chunk of createReadStream(path) as AsyncIterable<Buffer>) sum.update(chunk);
  return sum.digest('hex');
}

/** The files of a design that comes in with the scan, or of one that is stored. */
export async function designFiles({ store, read }: FilesAsked, design: CaseDesign): Promise<DesignFiles | undefined> {
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

/** The mesh of the stock part on which an implant was built; undefined where it was built on none, or that has none. */
export async function stockOf(
  { store, read, known }: FilesAsked,
  { builtOn }: Pick<Implant, 'builtOn'>,
): Promise<{ readonly stockPart: string; readonly file: StockFile } | undefined> {
  const stock = builtOn === undefined ? undefined : await known.body('stock-part', builtOn);
  if (stock?.mesh === undefined) return undefined;
  const { stockPart, mesh } = stock;
  const coming = read.site.find(({ document }) => bodyIf('stock-part', document)?.stockPart === stockPart);
  const found = coming?.files.find(({ field }) => field === 'mesh.file');
  if (found) return { stockPart, file: { file: found, ucum: mesh.ucum } };
  const revision = (await store.read.entries.current('stock-part', stockPart))?.revision;
  if (revision === undefined) return undefined;
  const named = await store.read.entries.evidenceNamedBy([{ kind: 'stock-part', key: stockPart, revision }]);
  const stored = named.find(({ name }) => name === 'model');
  if (stored === undefined) return undefined;
  return {
    stockPart,
    file: { file: { path: await store.evidence.pathOf(stored.sha256), name: mesh.file }, ucum: mesh.ucum },
  };
}

/** The points of a scan of a lot that comes in; of one that came over with its unit, those of the lot of the build. */
export async function scanFile(
  { store, read }: FilesAsked,
  folder: Pick<LotFolder, 'lot' | 'files'>,
  scan: ShapeScan,
): Promise<MeshFile | undefined> {
  const own = fileIn(folder, scan);
  const { splitFrom } = folder.lot;
  if (own !== undefined || splitFrom === undefined) return own;
  const coming = read.lots.find(({ lot, isStored }) => lot.lot === splitFrom && !isStored);
  if (coming) return fileIn(coming, scan);
  const origin = await store.read.entries.current('lot', splitFrom);
  const at = placeOf(scan, origin?.body.scans);
  if (origin === undefined || at < 0) return undefined;
  const named = await store.read.entries.evidenceNamedBy([{ kind: 'lot', key: splitFrom, revision: origin.revision }]);
  // Scans are named in their order.
  const stored = named.filter(({ name }) => name === 'scan')[at];
  return stored && { path: await store.evidence.pathOf(stored.sha256), name: scan.file };
}

const fileIn = ({ lot, files }: Pick<LotFolder, 'lot' | 'files'>, scan: ShapeScan): MeshFile | undefined =>
  files.find(({ field }) => field === `scans[${placeOf(scan, lot.scans)}].file`);

const placeOf = ({ specimen, scan }: ShapeScan, scans: readonly ShapeScan[] = []): number =>
  scans.findIndex((one) => one.specimen === specimen && one.scan === scan);
