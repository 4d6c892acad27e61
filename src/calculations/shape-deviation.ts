import { z } from 'zod';
import { align } from '../shape/align.js';
import { DeviationCount } from '../shape/deviations.js';
import { diagonalOf, extentOf, type Mesh } from '../shape/mesh.js';
import { meshFindings } from '../shape/mesh-findings.js';
import { moved } from '../shape/motion.js';
import { Surface } from '../shape/surface.js';
import { decimal, nonNegative, positive } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const MOST = 5000;
/** Millimetres beyond this are none, and their squares would lose the digits of a deviation. */
const FARTHEST = 1e6;

const coordinate = decimal.refine((value) => Math.abs(value) <= FARTHEST, `lies within ${FARTHEST} mm`);
const place = z.strictObject({
  x: coordinate.describe('in mm'),
  y: coordinate.describe('in mm'),
  z: coordinate.describe('in mm'),
});
const corner = z.int().min(1, 'counts corners from 1').describe('number of a corner, from 1');

const input = z
  .strictObject({
    corners: z.array(place).min(3, 'needs three corners').max(MOST, `takes at most ${MOST}`).describe('of the mesh'),
    triangles: z
      .array(z.strictObject({ a: corner, b: corner, c: corner }))
      .min(1, 'needs a triangle')
      .max(MOST, `takes at most ${MOST}`)
      .describe('their corners, against the clock as seen from outside'),
    points: z.array(place).min(1, 'needs a point').max(MOST, `takes at most ${MOST}`).describe('of the scan'),
    outsideMm: nonNegative('how far a point may lie outside the surface, in mm'),
    insideMm: nonNegative('how far it may lie inside, in mm; as far as outside when absent').optional(),
    alignment: z
      .enum(['as given', 'least squares'], 'must be as given or least squares')
      .default('as given')
      .describe('whether the points are laid on the mesh first'),
    reachMm: positive('how far a surface is looked for, in mm; a twentieth of the mesh from end to end when absent')
      .max(FARTHEST)
      .optional(),
  })
  .superRefine(({ corners, triangles }, context) => {
    for (const [index, triangle] of triangles.entries())
      for (const name of ['a', 'b', 'c'] as const)
        if (triangle[name] > corners.length) {
          const message = `there are ${corners.length} corners`;
          context.addIssue({ code: 'custom', path: ['triangles', index, name], message });
        }
  });

const flat = (places: readonly z.infer<typeof place>[]): Float64Array =>
  Float64Array.from(places.flatMap(({ x, y, z: up }) => [x, y, up]));

export const shapeDeviation: AnyCalculation = defineCalculation({
  name: 'shape-deviation',
  purpose: 'How far each point of a scan lies from a mesh, and which share of them lies beyond a profile tolerance',
  input,
  output: {
    deviationsMm: 'of each point, in mm: positive outside, negative inside; null without surface within reach',
    points: 'with a surface within reach',
    unreached: 'without one',
    shareOutside: 'of points with a surface those beyond the band, 0..1',
    meanMm: 'mean deviation, mm',
    rmsMm: 'root mean square of the deviations, mm',
    worst: 'farthest beyond the band: deviationMm, and where it lies (x, y, z) as it was laid',
    matrix: 'rotation and shift of the fit, three rows of four numbers; absent as given',
    residualMm: 'root mean square of what the fit left, mm; absent as given',
    meshFindings: 'what makes the mesh no closed surface: fault, how often, first triangle',
  },
  formula: [
    'deviation d: distance to the nearest point of any triangle, face, edge or corner; its sign that of (p − nearest) · n',
    'n: normal of the face; of an edge the sum of both faces; of a corner the sum of its faces by their angles there',
    'outside the band: d > outsideMm, or d < −insideMm; a profile tolerance t on both sides alike is a band of t/2 each',
    'worst: the largest of d − outsideMm outside and −d − insideMm inside',
    'fit: the rigid motion with the least sum of d², found by nearest points (Horn) and then along the normals',
  ].join('\n'),
  source:
    'ISO 1101:2017 and ASME Y14.5-2018, profile of a surface; Bærentzen and Aanæs, IEEE Trans. Vis. Comput. Graph. 11 (2005) 243; Horn, J. Opt. Soc. Am. A 4 (1987) 629',
  example: {
    input: {
      corners: [
        { x: 0, y: 0, z: 0 },
        { x: 6, y: 0, z: 0 },
        { x: 0, y: 6, z: 0 },
        { x: 0, y: 0, z: 6 },
      ],
      triangles: [
        { a: 1, b: 3, c: 2 },
        { a: 1, b: 2, c: 4 },
        { a: 1, b: 4, c: 3 },
        { a: 2, b: 3, c: 4 },
      ],
      points: [
        { x: 1, y: 1, z: -0.1 },
        { x: 2, y: 0.2, z: 2 },
        { x: 2.1, y: 2.1, z: 2.1 },
        { x: -0.3, y: -0.4, z: 0 },
      ],
      outsideMm: 0.2,
      reachMm: 1,
    },
    source: 'worked by hand: a corner cut from a cube of 6 mm',
    steps: [
      'point 1 lies 0.1 below the face z = 0: outside, 0.1',
      'point 2 lies 0.2 behind the face y = 0: inside, −0.2, which is still in the band',
      'point 3: x + y + z = 6.3 is beyond 6 by 0.3: outside by 0.3/√3 = 0.173205',
      'point 4: the nearest is the corner 0, 0, 0 at √(0.09 + 0.16) = 0.5, outside, and beyond the band by 0.3',
      'one of four: share 0.25; mean (0.1 − 0.2 + 0.173205 + 0.5)/4 = 0.143301; rms √((0.01 + 0.04 + 0.03 + 0.25)/4) = 0.287228',
    ],
  },
  compute({ corners, triangles, points, outsideMm, insideMm = outsideMm, alignment, reachMm }: z.infer<typeof input>) {
    const mesh: Mesh = {
      corners: flat(corners),
      triangles: Uint32Array.from(triangles.flatMap(({ a, b, c }) => [a - 1, b - 1, c - 1])),
    };
    const findings = meshFindings(mesh, []);
    const surface = new Surface(mesh);
    const across = diagonalOf(extentOf(mesh.corners));
    const reach = reachMm ?? across / 20;
    const scan = flat(points);
    const fit = alignment === 'as given' ? undefined : align(scan, surface, Math.max(across, reach));
    if (fit) moved(fit.motion, scan, scan, points.length);
    const count = new DeviationCount({ zone: '', outsideMm, insideMm }, reach);
    const deviationsMm = points.map((_, index) => {
      const [x, y, up] = scan.subarray(index * 3, index * 3 + 3) as unknown as [number, number, number];
      if (!surface.nearest(x, y, up, reach)) return null;
      count.add(surface.signed, x, y, up);
      return surface.signed;
    });
    const told = count.told();
    const [x, y, up] = told?.worst.at ?? [];
    return {
      deviationsMm,
      points: told?.points ?? 0,
      unreached: points.length - (told?.points ?? 0),
      ...(told === undefined
        ? {}
        : {
            shareOutside: told.outside! / told.points,
            meanMm: told.meanMm,
            rmsMm: told.rmsMm,
            worst: { deviationMm: told.worst.deviationMm, x, y, z: up },
          }),
      ...(fit === undefined || !Number.isFinite(fit.residualMm)
        ? {}
        : { matrix: fit.motion, residualMm: fit.residualMm }),
      meshFindings: findings.map(({ fault, count: times, triangle }) => ({ fault, count: times, triangle })),
      method: 'signed distance to the nearest triangle, with the side by angle-weighted normals',
      source: 'ISO 1101:2017; ASME Y14.5-2018; Bærentzen and Aanæs 2005',
      notes: notesWhere(
        [told === undefined, 'no point has a surface within reach'],
        [findings.length > 0, 'the mesh is no sound closed surface: the sides that are told may be wrong there'],
        [
          fit !== undefined,
          'a best fit hides what lies off everywhere alike: never judge by it alone where there are datums',
        ],
        [true, 'the share of points is a share of the surface only where they lie evenly'],
      ),
    };
  },
});
