import type { Aligned, ShapeDeviation } from '../kinds/degradation/shape-deviation.js';
import type { ZoneDeviations } from './deviations.js';
import type { AlignedDeviations, ShapeReport, ShapeRequest } from './measure-shape.js';
import { MEASURER } from './measurer.js';

/** To the nanometre: what lies behind that is noise of the arithmetic, and may differ between machines. */
const mm = (value: number): number => Number(value.toFixed(6)) + 0;

/** What was measured of a scan, as it is recorded. */
export function shapeBody(
  {
    lot,
    case: code,
    iteration,
    specimen,
    scan,
    asked,
    stock: known,
  }: Pick<ShapeDeviation, 'lot' | 'case' | 'iteration' | 'specimen' | 'scan' | 'asked'> & {
    readonly stock?: { readonly stockPart: string } | undefined;
  },
  { zones, judged, uncertaintyMm }: ShapeRequest,
  { points, mesh, stock, zoneMeshes, reachMm, asGiven, leastSquares, views }: ShapeReport,
): ShapeDeviation {
  return {
    ...{ lot, case: code, iteration, specimen, scan, asked },
    measurer: MEASURER,
    points: {
      ...{ sha256: points.sha256, bytes: points.bytes, count: points.points },
      ...(uncertaintyMm === undefined ? {} : { uncertaintyMm }),
    },
    mesh: { ...mesh, findings: mesh.findings.map((finding) => ({ ...finding, at: finding.at.map(mm) })) },
    zones: zones.map(({ zone, outsideMm, insideMm, isDatum = false }) => ({
      zone,
      ...(outsideMm === undefined ? {} : { outsideMm }),
      ...(insideMm === undefined ? {} : { insideMm }),
      isDatum,
      ...(zoneMeshes.has(zone) ? { meshSha256: zoneMeshes.get(zone)! } : {}),
      ...(stock?.zones.has(zone) ? { stock: stock.zones.get(zone)! } : {}),
    })),
    ...(stock === undefined
      ? {}
      : { stock: { stockPart: known!.stockPart, sha256: stock.sha256, triangles: stock.triangles } }),
    reachMm: mm(reachMm),
    judged,
    asGiven: aligned(asGiven),
    ...(leastSquares === undefined ? {} : { leastSquares: aligned(leastSquares) }),
    views: views.map((view) => ({ ...view, fromMm: [...view.fromMm], rows: view.rows.map((row) => [...row]) })),
  };
}

const aligned = ({ motion, residualMm, zones, stock, all, unreached }: AlignedDeviations): Aligned => ({
  matrix: motion.map((value) => Number(value.toFixed(9)) + 0),
  ...(residualMm === undefined ? {} : { residualMm: mm(residualMm) }),
  zones: zones.map(rounded),
  ...(stock === undefined ? {} : { stock: stock.map(rounded) }),
  ...(all === undefined ? {} : { all: rounded(all) }),
  unreached,
});

const rounded = ({ percentilesMm, worst, farthestMm, scannedShare, meanMm, rmsMm, ...counts }: ZoneDeviations) => ({
  ...counts,
  meanMm: mm(meanMm),
  rmsMm: mm(rmsMm),
  percentilesMm: Object.fromEntries(Object.entries(percentilesMm).map(([share, value]) => [share, mm(value)])),
  worst: { deviationMm: mm(worst.deviationMm), at: worst.at.map(mm) },
  farthestMm: mm(farthestMm),
  ...(scannedShare === undefined ? {} : { scannedShare: Number(scannedShare.toFixed(3)) }),
});
