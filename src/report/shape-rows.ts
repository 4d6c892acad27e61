import { type FinalShape, finalShapes } from '../assessment/shapes.js';
import type { Facts } from '../dossier/facts.js';
import { type Aligned, beyondBand, judgedOf, type ShapeDeviation } from '../kinds/degradation/shape-deviation.js';
import { textMetric } from '../pdf/shaping.js';
import { shapeViews } from './charts/shape-views.js';
import type { LotFigure } from './lot-figure.js';
import { SHAPE, SHAPE_FIGURE } from './phrases/record-shape.js';

/** One scan of a finished implant, as record and page tell it. */
export interface ShapeTable {
  readonly serial: string;
  readonly caption: string;
  readonly rows: readonly (readonly string[])[];
  readonly notes: readonly string[];
  readonly figure: LotFigure | undefined;
}

/** Scans of the finished implants whose cases are given, each with its zones and its picture. */
export const shapeTables = (facts: Facts): ShapeTable[] => finalShapes(facts).map(shapeTable);

function shapeTable({ implant: { serial }, scan: { scan }, shape }: FinalShape): ShapeTable {
  const caption = SHAPE.caption(serial, scan);
  if (shape === undefined)
    return { serial, caption, rows: [], notes: [SHAPE.notMeasured(serial, scan)], figure: undefined };
  const judged = judgedOf(shape);
  return {
    serial,
    caption,
    rows: shape.zones.map(({ zone, outsideMm, insideMm }) => zoneRow(shape, judged, zone, outsideMm, insideMm)),
    notes: notesOf(shape, judged),
    figure: figureOf(serial, scan, shape, judged),
  };
}

const mm = (value: number): string => value.toFixed(3).replace('-', '−');

function zoneRow(
  shape: ShapeDeviation,
  judged: Aligned,
  zone: string,
  outsideMm?: number,
  insideMm?: number,
): string[] {
  const profile = outsideMm === undefined ? SHAPE.noProfile : SHAPE.profileOf(String(outsideMm), String(insideMm));
  const own = judged.zones.find((one) => one.zone === zone);
  if (own === undefined) return [zone, profile, '0', SHAPE.notScanned, '', '', ''];
  const other = otherOf(shape)?.zones.find((one) => one.zone === zone);
  const share = own.outside === undefined ? '' : `${((100 * own.outside) / own.points).toFixed(2)} %`;
  const spread = `${mm(own.percentilesMm['1']!)} … ${mm(own.percentilesMm['99']!)}`;
  const worst = other === undefined ? '' : mm(other.worst.deviationMm);
  return [zone, profile, String(own.points), share, spread, mm(own.worst.deviationMm), worst];
}

/** The result that is not judged, where there is one. */
const otherOf = (shape: ShapeDeviation): Aligned | undefined =>
  judgedOf(shape) === shape.asGiven ? shape.leastSquares : shape.asGiven;

function notesOf(shape: ShapeDeviation, judged: Aligned): string[] {
  const { leastSquares, zones, mesh } = shape;
  const isFit = judged === leastSquares;
  const other = leastSquares === undefined ? undefined : SHAPE.laid(!isFit);
  const residual = leastSquares?.residualMm === undefined ? undefined : mm(leastSquares.residualMm);
  const datums = zones.filter(({ isDatum }) => isDatum).map(({ zone }) => zone);
  return [
    SHAPE.basis(shape.points.count, SHAPE.laid(isFit), other, residual),
    ...(leastSquares && datums.length > 0 ? [SHAPE.datums(datums)] : []),
    ...(leastSquares ? [SHAPE.motion(rowsOf(leastSquares.matrix))] : []),
    ...(judged.unreached > 0 ? [SHAPE.unreached(judged.unreached)] : []),
    ...(mesh.findings.length > 0
      ? [SHAPE.findings(mesh.findings.map(({ fault, count }) => SHAPE.finding(fault, count)))]
      : []),
  ];
}

const rowsOf = (matrix: readonly number[]): string[] =>
  [0, 4, 8].map((from) =>
    matrix
      .slice(from, from + 4)
      .map((value) => value.toFixed(5).replace('-', '−'))
      .join(' '),
  );

/** Parts of the narrowest profile up to which the steps of the scale go; the next one lies beyond it. */
const PARTS = [0.25, 0.5, 0.75, 1];

function figureOf(serial: string, scan: string, shape: ShapeDeviation, judged: Aligned): LotFigure | undefined {
  const { all } = judged;
  if (all === undefined) return undefined;
  const profiles = shape.zones.flatMap(({ outsideMm, insideMm }) => [outsideMm ?? 0, insideMm ?? 0]);
  const narrowest = Math.min(...profiles.filter((profile) => profile > 0));
  // Without a profile the scale is that of the points themselves.
  const end = Number.isFinite(narrowest) ? narrowest : Math.abs(all.worst.deviationMm) || 0.001;
  // The worst point is that of the zones where they ask for something: it lies farthest beyond what they ask.
  const asked = judged.zones.filter(({ outside }) => outside !== undefined);
  const beyond = ({ zone, worst: { deviationMm } }: (typeof asked)[number]) => {
    const { outsideMm = 0, insideMm = 0 } = shape.zones.find((one) => one.zone === zone)!;
    return beyondBand(deviationMm, outsideMm, insideMm);
  };
  const [first] = [...asked].sort((a, b) => beyond(b) - beyond(a));
  const { zone, worst } = first ?? { zone: '', worst: all.worst };
  const [far, isOutside] = [mm(Math.abs(worst.deviationMm)), worst.deviationMm >= 0];
  return {
    scene: shapeViews(
      {
        title: SHAPE_FIGURE.title(serial, scan, SHAPE.laid(judged === shape.leastSquares)),
        sides: shape.views,
        steps: PARTS.map((part) => Number((part * end).toPrecision(3))),
        worst: worst.at,
        notes: [
          SHAPE_FIGURE.worst(
            far,
            isOutside,
            worst.at.map((value) => value.toFixed(2).replace('-', '−')),
            zone,
          ),
        ],
      },
      textMetric,
    ),
    alt: SHAPE_FIGURE.alt(serial, scan, far, isOutside),
    caption: SHAPE_FIGURE.caption,
  };
}
