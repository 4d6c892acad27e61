import type { ShapeChange } from '../kinds/degradation/shape-change.js';
import type { ChangeReport, ChangeRequest, LaidScan, LaidTold } from './measure-change.js';
import { MEASURER } from './measurer.js';

const mm = (value: number): number => Number(value.toFixed(6)) + 0;

type Known = Pick<ShapeChange, 'lot' | 'case' | 'iteration' | 'specimen' | 'scan' | 'stockPart' | 'asked'>;

/**
 * What was measured of two scans, as it is recorded.
 * @param before name of the earlier scan.
 */
export function changeBody(
  { lot, case: code, iteration, specimen, scan, stockPart, asked }: Known,
  before: string,
  request: ChangeRequest,
  report: ChangeReport,
): ShapeChange {
  const { change, stock, design } = report;
  const spread = [request.before, request.after].map(({ uncertaintyMm }) => uncertaintyMm);
  const [first, then] = spread;
  return {
    ...{ lot, case: code, iteration, specimen, scan, stockPart, asked },
    measurer: MEASURER,
    before: laid(before, request.before, report.before),
    after: laid(scan, request.after, report.after),
    ...{ stock, design, cellMm: mm(report.cellMm), cells: report.cells, reachMm: mm(report.reachMm) },
    comparedShare: Number(report.comparedShare.toFixed(3)),
    lostShare: Number(report.lostShare.toFixed(3)),
    ...(first === undefined || then === undefined ? {} : { uncertaintyMm: mm(Math.sqrt(first * first + then * then)) }),
    ...(change === undefined
      ? {}
      : {
          change: {
            ...{ meanMm: mm(change.meanMm), rmsMm: mm(change.rmsMm) },
            ...{ lowestMm: mm(change.lowestMm), highestMm: mm(change.highestMm) },
            worst: { changeMm: mm(change.worst.deviationMm), at: change.worst.at.map(mm) },
          },
        }),
  };
}

const laid = (
  scan: string,
  { judged, uncertaintyMm }: LaidScan,
  { read, motion, residualMm, kept }: LaidTold,
): ShapeChange['before'] => ({
  scan,
  points: {
    ...{ sha256: read.sha256, bytes: read.bytes, count: read.points },
    ...(uncertaintyMm === undefined ? {} : { uncertaintyMm }),
  },
  judged,
  matrix: motion.map((value) => Number(value.toFixed(9)) + 0),
  ...(residualMm === undefined ? {} : { residualMm: mm(residualMm) }),
  ...(kept === undefined
    ? {}
    : {
        kept: {
          points: kept.points,
          ...{ meanMm: mm(kept.meanMm), rmsMm: mm(kept.rmsMm), farthestMm: mm(kept.farthestMm) },
        },
      }),
});
