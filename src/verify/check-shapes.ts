import { builtDesigns } from '../assessment/built-designs.js';
import { finalShapes } from '../assessment/shapes.js';
import { BadInputError, problemText } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { MEASURER } from '../shape/measurer.js';
import { scanRequest } from '../shape/scan-request.js';
import { shapeOfFile } from '../shape/shape-of-file.js';
import { shapeBody } from '../shape/told-shape.js';
import { firstDifference } from './first-difference.js';
import type { Steps } from './report.js';

/**
 * Measures the scans of finished implants again.
 * @param found files of the evidence by their SHA-256. What is missing was told; nothing is measured without it.
 */
export async function checkShapes(facts: Facts, found: ReadonlyMap<string, string>, steps: Steps): Promise<void> {
  for (const { implant, scan, shape } of finalShapes(facts)) {
    const design = builtDesigns(facts).find(
      ({ code, iteration }) => code === implant.case && iteration === implant.designIteration,
    )?.design?.body;
    const points = shape && found.get(shape.points.sha256);
    const model = shape && found.get(shape.mesh.sha256);
    if (shape === undefined || design === undefined || points === undefined || model === undefined) continue;
    const meshes = shape.zones.flatMap(({ zone, meshSha256 }) => {
      const path = meshSha256 === undefined ? undefined : found.get(meshSha256);
      return path === undefined ? [] : [[zone, { path, name: zone }] as const];
    });
    if (meshes.length < shape.zones.filter(({ meshSha256 }) => meshSha256 !== undefined).length) continue;
    const step = { step: 'shape', of: `${scan.specimen}, scan ${scan.scan}` } as const;
    const files = { model: { path: model, name: design.model.file }, zones: new Map(meshes) };
    try {
      const request = scanRequest(scan, design, files, points);
      const again = shapeBody(shape, request, await shapeOfFile(request));
      const names = shape.measurer === MEASURER ? 'all' : 'attached';
      const difference = firstDifference(plain(shape), plain(again), names);
      const { measurer } = shape;
      if (difference === undefined) steps.holds(step, { code: 'measured alike' });
      else if (measurer === MEASURER) steps.broken(step, { code: 'measured otherwise', facts: { difference } });
      else steps.differs(step, { code: 'other measurer', facts: { measurer, own: MEASURER, difference } });
    } catch (error) {
      if (!(error instanceof BadInputError)) throw error;
      steps.broken(step, { code: 'not measurable', facts: { difference: error.problems.map(problemText).join('; ') } });
    }
  }
}

const plain = (value: unknown): unknown => JSON.parse(canonicalJson(value));
