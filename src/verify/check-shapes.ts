import { builtDesigns } from '../assessment/built-designs.js';
import { finalShapes, stockChanges } from '../assessment/shapes.js';
import { BadInputError, problemText } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { CaseDesign } from '../kinds/cases/case-design.js';
import type { ShapeChange } from '../kinds/degradation/shape-change.js';
import type { ShapeDeviation } from '../kinds/degradation/shape-deviation.js';
import type { Implant } from '../kinds/lot.js';
import { MEASURER } from '../shape/measurer.js';
import { changeRequest, type StockFile, scanRequest } from '../shape/scan-request.js';
import { changeOfFiles, shapeOfFile } from '../shape/shape-of-file.js';
import { changeBody } from '../shape/told-change.js';
import { shapeBody } from '../shape/told-shape.js';
import { firstDifference } from './first-difference.js';
import type { Steps } from './report.js';

/**
 * Measures the scans of finished implants again.
 * @param found files of the evidence by their SHA-256. What is missing was told; nothing is measured without it.
 */
export async function checkShapes(facts: Facts, found: ReadonlyMap<string, string>, steps: Steps): Promise<void> {
  for (const { implant, scan, shape } of finalShapes(facts)) {
    const design = designOf(facts, implant);
    const points = shape && found.get(shape.points.sha256);
    const model = shape && found.get(shape.mesh.sha256);
    if (shape === undefined || design === undefined || points === undefined || model === undefined) continue;
    const meshes = shape.zones.flatMap(({ zone, meshSha256 }) => {
      const path = meshSha256 === undefined ? undefined : found.get(meshSha256);
      return path === undefined ? [] : [[zone, { path, name: zone }] as const];
    });
    if (meshes.length < shape.zones.filter(({ meshSha256 }) => meshSha256 !== undefined).length) continue;
    const stock = stockFile(facts, shape.stock, found);
    if (shape.stock !== undefined && stock === undefined) continue;
    const step = { step: 'shape', of: `${scan.specimen}, scan ${scan.scan}` } as const;
    const files = { model: { path: model, name: design.model.file }, zones: new Map(meshes) };
    await compared(steps, step, shape, async () => {
      const request = scanRequest(scan, design, files, points, { stock });
      return shapeBody(shape, request, await shapeOfFile(request));
    });
  }
  await checkChanges(facts, found, steps);
}

/** The same of scans of stock parts before and after they were built on. */
async function checkChanges(facts: Facts, found: ReadonlyMap<string, string>, steps: Steps): Promise<void> {
  for (const { implant, scan, before, change } of stockChanges(facts)) {
    const design = designOf(facts, implant);
    if (change === undefined || design === undefined) continue;
    const stock = stockFile(facts, { stockPart: change.stockPart, sha256: change.stock.sha256 }, found);
    const at = (sha256: string, name: string) => {
      const path = found.get(sha256);
      return path === undefined ? undefined : { path, name };
    };
    const [first, then] = [at(change.before.points.sha256, before.file), at(change.after.points.sha256, scan.file)];
    const model = at(change.design.sha256, design.model.file);
    if (!stock || !first || !then || !model) continue;
    const step = { step: 'shape', of: `${scan.specimen}, scan ${scan.scan} against ${before.scan}` } as const;
    await compared(steps, step, change, async () => {
      const request = changeRequest({ before, after: scan }, { before: first, after: then }, design, model, stock);
      return changeBody(change, before.scan, request, await changeOfFiles(request));
    });
  }
}

const designOf = (facts: Facts, { case: code, designIteration }: Implant): CaseDesign | undefined =>
  builtDesigns(facts).find((one) => one.code === code && one.iteration === designIteration)?.design?.body;

function stockFile(
  { stockParts }: Facts,
  of: { readonly stockPart: string; readonly sha256: string } | undefined,
  found: ReadonlyMap<string, string>,
): StockFile | undefined {
  const [mesh, path] = [stockParts.get(of?.stockPart ?? '')?.body.mesh, found.get(of?.sha256 ?? '')];
  return mesh && path ? { file: { path, name: mesh.file }, ucum: mesh.ucum } : undefined;
}

/** What is attached beside what is measured now. */
async function compared(
  steps: Steps,
  step: { readonly step: 'shape'; readonly of: string },
  told: ShapeDeviation | ShapeChange,
  measure: () => Promise<ShapeDeviation | ShapeChange>,
): Promise<void> {
  const { measurer } = told;
  try {
    const names = measurer === MEASURER ? 'all' : 'attached';
    const difference = firstDifference(plain(told), plain(await measure()), names);
    if (difference === undefined) steps.holds(step, { code: 'measured alike' });
    else if (measurer === MEASURER) steps.broken(step, { code: 'measured otherwise', facts: { difference } });
    else steps.differs(step, { code: 'other measurer', facts: { measurer, own: MEASURER, difference } });
  } catch (error) {
    if (!(error instanceof BadInputError)) throw error;
    steps.broken(step, { code: 'not measurable', facts: { difference: error.problems.map(problemText).join('; ') } });
  }
}

const plain = (value: unknown): unknown => JSON.parse(canonicalJson(value));
