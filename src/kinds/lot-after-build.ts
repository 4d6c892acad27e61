import { z } from 'zod';
import {
  Claim,
  Code,
  Decimal,
  FilePath,
  PastMoment,
  PositiveDecimal,
  StepAfterBuild,
  Text,
  Ucum,
  whole,
} from './fields.js';

/** What a lot file says of its parts once they were built: steps, tests, scans, labels, and where each part went. */

export const LotStep = z.strictObject({
  step: StepAfterBuild,
  at: PastMoment,
  by: Code,
  note: Text.optional(),
  parts: z.array(Code).optional().describe('serials and coupons that went through it; the whole lot when absent'),
  load: Code.optional().describe('process load in which they were'),
  instruction: z
    .strictObject({ instruction: Code, revision: whole(1) })
    .optional()
    .describe('rework instruction by which it was done again'),
});
export type LotStep = z.infer<typeof LotStep>;

const ResultKey = z.strictObject({
  specimen: Code,
  piece: Code.optional(),
  characteristic: Code,
  replicate: whole(1, 100_000),
});

/** A test that failed as a test: it leaves the acceptance set, and stays on record. */
export const InvalidTest = z.strictObject({
  result: ResultKey,
  cause: Text.describe('cause that was seen in the test itself, such as a slip in the grip'),
  seenBy: Code.describe('who saw it'),
  decidedBy: Code.describe('another person than the analyst and than who saw it'),
  at: PastMoment,
});
export type InvalidTest = z.infer<typeof InvalidTest>;

/** A spare coupon that was tested in place of another. Values of the first one stay in the acceptance set unless invalid. */
export const Replacement = z.strictObject({
  characteristic: Code,
  replaces: Code.describe('specimen that could not give all its values'),
  by: Code.describe('spare coupon that was tested for it'),
  reason: Text,
});
export type Replacement = z.infer<typeof Replacement>;

/** Where a part went that nobody can release any more. Released and rejected ones follow from what people sign. */
export const PartFate = z.strictObject({
  part: Code.describe('serial or coupon'),
  as: z
    .enum(['tested', 'retained', 'scrapped', 'stock part'])
    .describe(
      'tested: used up by a test. retained: kept as a sample. scrapped: destroyed. stock part: never released, and kept for new metal to be built on it',
    ),
  at: PastMoment,
  by: Code,
  evidence: FilePath.optional(),
});
export type PartFate = z.infer<typeof PartFate>;

/** A part that went on in another lot by a unit move. */
export interface MovedPart {
  readonly part: string;
  readonly as: 'moved';
  readonly at: string;
  readonly by: string;
  /** In which it is now. */
  readonly lot: string;
  readonly move: string;
}

export interface WithFates {
  readonly fates?: readonly PartFate[] | undefined;
  readonly moved?: readonly MovedPart[] | undefined;
}

/** What became of a part that is not there any more, or is kept back. */
export type Gone = PartFate | MovedPart;

/** Where a part went, or undefined where it is there to be released or rejected. */
export const fateOf = ({ fates = [], moved = [] }: WithFates, part: string): Gone | undefined =>
  moved.find((one) => one.part === part) ?? fates.find((fate) => fate.part === part);

export const LabelCounts = z.strictObject({
  printed: whole(0),
  used: whole(0),
  destroyed: whole(0),
  inspected: z
    .strictObject({ sample: whole(1), ...Claim.shape })
    .optional()
    .describe('labels that a person looked at, how many, and who did'),
  read: z.array(Text).optional().describe('codes as the reader gave them, one for each label that was read'),
});

/** What a scanned shape is held against. */
const Against = z.discriminatedUnion('what', [
  z.strictObject({ what: z.literal('design') }).describe('the design iteration from which the implant was built'),
  z
    .strictObject({ what: z.literal('scan'), scan: Code.describe('earlier scan of the same part') })
    .describe('the same part before a step or an exposure'),
  z.strictObject({ what: z.literal('stock part') }).describe('the stock part on which the implant was built'),
]);

const Alignment = z.discriminatedUnion('how', [
  z.strictObject({ how: z.literal('as given') }).describe('both lie in one frame already'),
  z
    .strictObject({
      how: z.literal('least squares'),
      matrix: z
        .array(Decimal)
        .length(12)
        .optional()
        .describe(
          'rotation and shift as the scanner gave them, before the fit: three rows of four numbers, in the unit of the coordinates',
        ),
    })
    .describe('laid on each other by least squares'),
]);

export const ShapeScan = z.strictObject({
  specimen: Code.describe('serial or coupon'),
  scan: Code.describe('name of the scan, unique for the specimen'),
  file: FilePath,
  form: z.enum(['ply', 'xyz']),
  ucum: Ucum.describe('unit of the coordinates'),
  when: z.enum(['before', 'after', 'final']).describe('before or after a step or an exposure, or of the finished part'),
  against: Against,
  alignment: Alignment,
  standardUncertaintyMm: PositiveDecimal.optional().describe(
    'standard uncertainty of a point, as the calibration or a study of the scanner states it',
  ),
  instrument: Code,
  by: Code,
  at: PastMoment,
});
export type ShapeScan = z.infer<typeof ShapeScan>;

/** Scans of a finished part that are held against its design, in the order of the lot file: its replicates from 1 on. */
export const finalScansOf = (scans: readonly ShapeScan[] = [], serial: string): ShapeScan[] =>
  scans.filter(({ specimen, when, against }) => specimen === serial && when === 'final' && against.what === 'design');
