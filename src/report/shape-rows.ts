import { LEAST_SCANNED_PERCENT, leastScanned, percentScanned } from '../assessment/least-scanned.js';
import { type FinalShape, finalShapes, type StockChange, stockChanges } from '../assessment/shapes.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import {
  type Aligned,
  beyondBand,
  judgedOf,
  type ShapeDeviation,
  shownOf,
} from '../kinds/degradation/shape-deviation.js';
import { classOfZone } from '../kinds/zone-class.js';
import { textMetric } from '../pdf/shaping.js';
import { shapeViews } from './charts/shape-views.js';
import type { LotFigure } from './lot-figure.js';
import { SHAPE, SHAPE_FIGURE } from './phrases/record-shape.js';
import { STOCK_CHANGE } from './phrases/stock-parts.js';

/** One scan of a finished implant, as record and page tell it. */
export interface ShapeTable {
  readonly serial: string;
  readonly caption: string;
  readonly rows: readonly (readonly string[])[];
  readonly notes: readonly string[];
  readonly figure: LotFigure | undefined;
}

/** Scans of the finished implants whose cases are given, each with its zones and its picture. */
export const shapeTables = (facts: Facts): ShapeTable[] => finalShapes(facts).map((of) => shapeTable(facts, of));

function shapeTable(facts: Facts, of: FinalShape): ShapeTable {
  const { implant, scan, shape } = of;
  const { serial } = implant;
  const caption = SHAPE.caption(serial, scan.scan);
  if (shape === undefined)
    return { serial, caption, rows: [], notes: [SHAPE.notMeasured(serial, scan.scan)], figure: undefined };
  const shown = shownOf(shape);
  return {
    serial,
    caption,
    rows: shape.zones.flatMap((zone) => zoneRows(shape, shown, zone)),
    notes: notesOf(facts, of, shape, shown),
    figure: figureOf(serial, scan.scan, shape, shown),
  };
}

/** A value that rounds to nothing has no side. */
const mm = (value: number): string =>
  value
    .toFixed(3)
    .replace(/^-(?=0\.000$)/, '')
    .replace('-', '−');

/** A row for what was built of a zone, and one for what of it is of the stock. */
function zoneRows(
  shape: ShapeDeviation,
  shown: Aligned,
  { zone, outsideMm, insideMm, stock }: ShapeDeviation['zones'][number],
): string[][] {
  const profile = outsideMm === undefined ? SHAPE.noProfile : SHAPE.profileOf(String(outsideMm), String(insideMm));
  const row = (name: string, of: 'zones' | 'stock'): string[] => {
    const own = shown[of]?.find((one) => one.zone === zone);
    if (own === undefined) return [name, profile, '0', SHAPE.notScanned, '', '', '', ''];
    const other = otherOf(shape)?.[of]?.find((one) => one.zone === zone);
    const share = own.outside === undefined ? '' : `${((100 * own.outside) / own.points).toFixed(2)} %`;
    const seen = own.scannedShare === undefined ? '' : `${(100 * own.scannedShare).toFixed(0)} %`;
    const spread = `${mm(own.percentilesMm['1']!)} … ${mm(own.percentilesMm['99']!)}`;
    const worst = other === undefined ? '' : mm(other.worst.deviationMm);
    return [name, profile, String(own.points), seen, share, spread, mm(own.worst.deviationMm), worst];
  };
  return [
    ...(stock === 'all' ? [] : [row(stock === undefined ? zone : SHAPE.built(zone), 'zones')]),
    ...(stock === undefined ? [] : [row(SHAPE.ofStock(zone), 'stock')]),
  ];
}

/** The result that is not judged, where there is one. */
const otherOf = (shape: ShapeDeviation): Aligned | undefined =>
  shownOf(shape) === shape.asGiven ? shape.leastSquares : shape.asGiven;

function notesOf(facts: Facts, of: FinalShape, shape: ShapeDeviation, shown: Aligned): string[] {
  const { leastSquares, zones, mesh } = shape;
  const isFit = shown === leastSquares;
  const other = leastSquares === undefined ? undefined : SHAPE.laid(!isFit);
  const residual = leastSquares?.residualMm === undefined ? undefined : mm(leastSquares.residualMm);
  const datums = zones.filter(({ isDatum }) => isDatum).map(({ zone }) => zone);
  const how = judgedOf(shape) === undefined ? SHAPE.notJudged : SHAPE.judged(SHAPE.laid(isFit));
  return [
    SHAPE.basis(shape.points.count, how, other, residual),
    ...(leastSquares && datums.length > 0 ? [SHAPE.datums(datums)] : []),
    ...(leastSquares ? [SHAPE.motion(rowsOf(leastSquares.matrix))] : []),
    ...(shape.stock ? [SHAPE.apart(shape.stock.stockPart)] : []),
    coverageNote(facts),
    ...unseenNotes(facts, of, shape, shown),
    ...(shown.unreached > 0 ? [SHAPE.unreached(shown.unreached)] : []),
    ...(mesh.findings.length > 0
      ? [SHAPE.findings(mesh.findings.map(({ fault, count }) => SHAPE.finding(fault, count)))]
      : []),
  ];
}

function coverageNote(facts: Facts): string {
  const { percent, isStated } = leastScanned(facts, undefined);
  return isStated ? SHAPE.coverage(String(percent)) : SHAPE.coverageUnstated(String(LEAST_SCANNED_PERCENT));
}

/** What no scanner sees of a zone, and what the specification says of that. */
function unseenNotes(facts: Facts, { implant }: FinalShape, { zones }: ShapeDeviation, shown: Aligned): string[] {
  const { recipe, revision } = implant.recipe;
  const known = facts.recipes.get(revisionKey(recipe, revision))?.body;
  return zones.flatMap(({ zone, outsideMm }) => {
    const { unseen } = leastScanned(facts, classOfZone(implant, known, zone));
    const share = shown.zones.find((one) => one.zone === zone)?.scannedShare;
    if (outsideMm === undefined || unseen === undefined || share === undefined || share >= 1) return [];
    const titled = facts.specification.body.characteristics.find((one) => one.characteristic === unseen.shownBy)?.title;
    return [SHAPE.unseen(zone, (100 * (1 - share)).toFixed(0), unseen.why, titled ?? unseen.shownBy)];
  });
}

/** Two scans of a stock part compared, as record and page tell it. */
export interface ChangeTable {
  readonly serial: string;
  readonly caption: string;
  readonly rows: readonly (readonly string[])[];
  readonly notes: readonly string[];
}

/** Of the implants whose cases are given. */
export const changeTables = (facts: Facts): ChangeTable[] => stockChanges(facts).map(changeTable);

function changeTable({ implant: { serial }, scan: { scan }, before, change }: StockChange): ChangeTable {
  const caption = STOCK_CHANGE.caption(serial, scan, before.scan);
  if (change === undefined) return { serial, caption, rows: [], notes: [STOCK_CHANGE.notMeasured(serial, scan)] };
  const { change: told, comparedShare, cells, cellMm, uncertaintyMm } = change;
  const share = STOCK_CHANGE.share(percentScanned(comparedShare).toFixed(1), cells, cellMm.toFixed(2));
  return {
    ...{ serial, caption },
    rows: told
      ? [
          [
            ...[share, mm(told.meanMm), `${mm(told.lowestMm)} … ${mm(told.highestMm)}`, mm(told.worst.changeMm)],
            SHAPE_FIGURE.place(told.worst.at.map((value) => value.toFixed(2).replace('-', '−'))),
          ],
        ]
      : [],
    notes: [
      ...(told ? [] : [STOCK_CHANGE.notCompared(serial, scan)]),
      ...[change.before, change.after].map((one) =>
        STOCK_CHANGE.laid(
          one.scan,
          one.judged === 'least squares',
          one.residualMm === undefined ? undefined : mm(one.residualMm),
          one.kept?.points ?? 0,
        ),
      ),
      ...(uncertaintyMm === undefined ? [] : [STOCK_CHANGE.uncertainty(mm(uncertaintyMm))]),
    ],
  };
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

function figureOf(serial: string, scan: string, shape: ShapeDeviation, shown: Aligned): LotFigure | undefined {
  const { all } = shown;
  if (all === undefined) return undefined;
  const profiles = shape.zones.flatMap(({ outsideMm, insideMm }) => [outsideMm ?? 0, insideMm ?? 0]);
  const narrowest = Math.min(...profiles.filter((profile) => profile > 0));
  // Without a profile the scale is that of the points themselves.
  const end = Number.isFinite(narrowest) ? narrowest : Math.abs(all.worst.deviationMm) || 0.001;
  // The worst point is that of the zones where they ask for something: it lies farthest beyond what they ask.
  const asked = [...shown.zones, ...(shown.stock ?? [])].filter(({ outside }) => outside !== undefined);
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
        title: SHAPE_FIGURE.title(serial, scan, SHAPE.laid(shown === shape.leastSquares)),
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
