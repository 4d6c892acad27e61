import { z } from 'zod';
import type { DeclaredKind } from '../kind.js';

/** Lengths are in mm, in the frame of the model, to the nanometre. */

const Place = z.array(z.number()).length(3);
const Worst = z.strictObject({
  deviationMm: z.number().describe('positive outside the model'),
  at: Place.describe('where the point lies as it was laid on the model'),
});

const ZoneDeviations = z.strictObject({
  zone: z.string().describe('empty for all points'),
  points: z.int().positive(),
  outside: z.int().optional().describe('points beyond the profile of the zone'),
  outsideNarrow: z.int().optional().describe('the same with the profile narrower by the uncertainty of a point'),
  outsideWide: z.int().optional().describe('the same with the profile wider by it'),
  outsidePerhaps: z.int().optional().describe('the same with the profile narrower by the guard band of 95 %'),
  outsideSurely: z.int().optional().describe('the same with the profile wider by that guard band'),
  meanMm: z.number(),
  rmsMm: z.number(),
  percentilesMm: z.record(z.string(), z.number()),
  worst: Worst.describe('farthest beyond the profile, or from the model where none is asked'),
  farthestMm: z
    .number()
    .nonnegative()
    .describe('of the point farthest from the model, whichever side the profile is wider on'),
  scannedShare: z.number().optional().describe('of the surface of the zone that has a point near, 0 to 1'),
});
export type ZoneDeviations = z.infer<typeof ZoneDeviations>;

const Aligned = z.strictObject({
  matrix: z.array(z.number()).length(12).describe('rotation and shift, three rows of four numbers'),
  residualMm: z.number().optional().describe('root mean square that the fit left'),
  zones: z.array(ZoneDeviations),
  stock: z
    .array(ZoneDeviations)
    .optional()
    .describe('of an implant on a stock part: what of each zone is surface of that, apart from what was built'),
  all: ZoneDeviations.optional(),
  unreached: z.int().nonnegative().describe('points without surface within reach'),
});
export type Aligned = z.infer<typeof Aligned>;

const View = z.strictObject({
  along: z.enum(['x', 'y', 'z']),
  fromMm: z.array(z.number()).length(2),
  squareMm: z.number(),
  columns: z.int().positive(),
  rows: z.array(z.array(z.int().nullable())).describe('largest deviation of each square in µm, the lowest row first'),
});

/** What a scan of an implant says against its design: measured by the program, of the file that came in. */
export const ShapeDeviation = z.strictObject({
  lot: z.string(),
  case: z.string(),
  iteration: z.int(),
  specimen: z.string(),
  scan: z.string(),
  measurer: z.string().describe('name and version of what measured'),
  asked: z.string().describe('SHA-256 of all that it was measured by'),
  points: z.strictObject({
    sha256: z.string(),
    bytes: z.int(),
    count: z.int(),
    uncertaintyMm: z.number().optional().describe('standard uncertainty of a point, as stated'),
  }),
  mesh: z.strictObject({
    sha256: z.string(),
    triangles: z.int(),
    findings: z.array(z.strictObject({ fault: z.string(), count: z.int(), triangle: z.int(), at: Place })),
  }),
  zones: z
    .array(
      z.strictObject({
        zone: z.string(),
        outsideMm: z.number().optional(),
        insideMm: z.number().optional(),
        isDatum: z.boolean(),
        meshSha256: z.string().optional().describe('of its mesh, where it has one'),
        stock: z.enum(['all', 'part']).optional().describe('how much of its surface is of the stock part'),
      }),
    )
    .describe('what the design asks of each zone'),
  stock: z
    .strictObject({ stockPart: z.string(), sha256: z.string(), triangles: z.int() })
    .optional()
    .describe('mesh of the stock part on which the implant was built'),
  reachMm: z.number().describe('how far from the model a point is looked for'),
  judged: z.enum(['as given', 'least squares']),
  asGiven: Aligned,
  leastSquares: Aligned.optional(),
  views: z.array(View).describe('of the result that is judged, from three sides'),
});
export type ShapeDeviation = z.infer<typeof ShapeDeviation>;

export const shapeDeviation: DeclaredKind<ShapeDeviation> = {
  kind: 'shape-deviation',
  schema: ShapeDeviation,
  caseOf: (document) => document.case,
};

export const shapeKey = ({ specimen, scan }: Pick<ShapeDeviation, 'specimen' | 'scan'>): string =>
  `${specimen}:${scan}`;

/** How far a deviation lies beyond a band around the nominal surface, in mm; negative within it. */
export const beyondBand = (deviationMm: number, outsideMm: number, insideMm: number): number =>
  Math.max(deviationMm - outsideMm, -deviationMm - insideMm);

/** The result that a scan shows: that of the fit where it is asked and could be made. */
export const shownOf = ({ judged, asGiven, leastSquares }: ShapeDeviation): Aligned =>
  judged === 'least squares' && leastSquares ? leastSquares : asGiven;

/** Datums of which a scan has no point: the part is not held where the design holds it. */
export const datumsMissing = (shape: ShapeDeviation): string[] => {
  const { zones, stock = [] } = shownOf(shape);
  const seen = new Set([...zones, ...stock].map(({ zone }) => zone));
  return shape.zones.flatMap(({ zone, isDatum }) => (isDatum && !seen.has(zone) ? [zone] : []));
};

/**
 * The result that is judged; undefined where nothing is. A scan that is to be fitted and was not, or that shows nothing of a
 * datum, is not judged as given in its place: nobody knows where it lies.
 */
export function judgedOf(shape: ShapeDeviation): Aligned | undefined {
  if (shape.judged === 'least squares' && shape.leastSquares === undefined) return undefined;
  return datumsMissing(shape).length > 0 ? undefined : shownOf(shape);
}
