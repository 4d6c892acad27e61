import { z } from 'zod';
import type { DeclaredKind } from '../kind.js';

/** Lengths are in mm, in the frame of the model of the design, to the nanometre. */

const Laid = z.strictObject({
  scan: z.string(),
  points: z.strictObject({
    sha256: z.string(),
    bytes: z.int(),
    count: z.int(),
    uncertaintyMm: z.number().optional().describe('standard uncertainty of a point, as stated'),
  }),
  judged: z.enum(['as given', 'least squares']),
  matrix: z.array(z.number()).length(12).describe('rotation and shift, three rows of four numbers'),
  residualMm: z.number().optional().describe('root mean square that the fit left'),
  kept: z
    .strictObject({ points: z.int(), meanMm: z.number(), rmsMm: z.number(), farthestMm: z.number() })
    .optional()
    .describe('points on the surface that stays, and how they lie from it'),
});

/** What two scans of a stock part say of each other: measured by the program, of the files that came in. */
export const ShapeChange = z.strictObject({
  lot: z.string(),
  case: z.string(),
  iteration: z.int(),
  specimen: z.string(),
  scan: z.string().describe('the later scan'),
  stockPart: z.string(),
  measurer: z.string().describe('name and version of what measured'),
  asked: z.string().describe('SHA-256 of all that it was measured by'),
  before: Laid,
  after: Laid,
  stock: z.strictObject({ sha256: z.string(), triangles: z.int() }),
  design: z.strictObject({ sha256: z.string(), triangles: z.int() }),
  cellMm: z.number().describe('width of the squares of which means are compared'),
  cells: z.int().describe('squares on the surface that stays'),
  comparedShare: z.number().describe('of that surface, of which both scans show enough, 0 to 1'),
  reachMm: z.number().describe('how far from that surface a point is looked for'),
  lostShare: z
    .number()
    .describe(
      'of that surface, which the earlier scan shows and of which the later one has no point within reach, 0 to 1',
    ),
  uncertaintyMm: z
    .number()
    .optional()
    .describe('standard uncertainty of a change: of both scans, where both state theirs'),
  change: z
    .strictObject({
      meanMm: z.number(),
      rmsMm: z.number(),
      lowestMm: z.number(),
      highestMm: z.number(),
      worst: z.strictObject({ changeMm: z.number(), at: z.array(z.number()).length(3) }),
    })
    .optional()
    .describe('after less before, positive where it grew; absent where nothing could be compared'),
});
export type ShapeChange = z.infer<typeof ShapeChange>;

export const shapeChange: DeclaredKind<ShapeChange> = {
  kind: 'shape-change',
  schema: ShapeChange,
  caseOf: (document) => document.case,
};
