import { z } from 'zod';
import {
  Claim,
  Code,
  FilePath,
  Format,
  Layers,
  MapRef,
  Moment,
  NotNegative,
  PastMoment,
  PositiveDecimal,
  Quantity,
  Reason,
  RecipeRef,
  RecipeStep,
  SpecificationRef,
  StudyRef,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { happened } from './happened.js';
import { InvalidTest, LabelCounts, LotStep, PartFate, Replacement, ShapeScan } from './lot-after-build.js';

/** A dew point becomes a share of moisture only with these; none of them is guessed. */
const DewPoint = z.strictObject({
  over: z
    .enum(['ice', 'water'])
    .describe('what the reported temperature below 0 °C refers to: frost point or dew point'),
  pressureChannel: Code.describe('logged absolute pressure at the sensor; a gauge pressure needs ambientChannel'),
  ambientChannel: Code.optional().describe('logged ambient pressure, which is added to a gauge pressure'),
});

const LoggedChannel = z.strictObject({
  channel: Code,
  ucum: Ucum.optional().describe(
    'unit of the logged numbers; may also stand in the sidecar or in a unit row of the log',
  ),
  dewPoint: DewPoint.optional().describe('for a moisture channel that logs a dew point'),
  instrument: Code.optional().describe('sensor behind the channel: its calibration is checked'),
});

const ClockOffset = z
  .union([z.string().regex(/^-?\d{1,9}$/, { error: 'a whole number of milliseconds' }), z.number().int()])
  .transform(Number)
  .default(0)
  .describe('what must be added to the recorder clock to get true time');

export const FurtherLog = z.strictObject({
  file: FilePath.describe('another log of the same build, merged with the first by time'),
  map: MapRef.optional(),
  units: FilePath.optional().describe('sidecar of the log: YAML with the unit of each channel'),
  channels: z.array(LoggedChannel).min(1).describe('the logged channels and their units'),
  gapLimitMs: whole(1).optional().describe('how long a value of this file holds; as for the first file when absent'),
  clockOffsetMs: ClockOffset,
});
export type FurtherLog = z.infer<typeof FurtherLog>;

export const BuildLog = z.strictObject({
  file: FilePath.describe('CSV, plain or gzip: timestamp, layer, zone, step, then one column per channel'),
  map: MapRef.optional(),
  units: FilePath.optional().describe('sidecar of the log: YAML with the unit of each channel'),
  channels: z.array(LoggedChannel).min(1).describe('the logged channels and their units'),
  nominalPeriodMs: whole(1).describe('time between two rows when all is well'),
  gapLimitMs: whole(1).describe('a longer silence is a gap'),
  clockOffsetMs: ClockOffset,
  more: z.array(FurtherLog).optional().describe('further files; where two log one channel, the first named counts'),
});
export type BuildLog = z.infer<typeof BuildLog>;

const ChargedPowder = z.strictObject({
  state: Code,
  chargedG: PositiveDecimal.describe('what was filled in (grams)'),
  depositedG: NotNegative.optional().describe('what became part of parts and supports (grams)'),
  recoveredG: NotNegative.optional().describe('what was taken out to be used again (grams)'),
  recoveredInto: Code.optional().describe('powder state that took it up'),
  wasteG: NotNegative.optional().describe('what was thrown away (grams)'),
});

/** A closure that is planned is still to come. */
const BuiltMoment = happened(Moment, ({ state }) => state === 'planned');

export const Build = z.strictObject({
  state: z
    .enum(['planned', 'built'])
    .optional()
    .describe('planned: not built yet, its times are those of the plan; built when absent'),
  build: Code.describe('one closure of the chamber: machine and run number'),
  machine: Code,
  run: whole(1),
  closedAt: BuiltMoment.describe('chamber closed'),
  openedAt: BuiltMoment.describe('chamber opened'),
  operator: Code,
  powder: z
    .array(ChargedPowder)
    .default([])
    .describe(
      'powder that went in; left out only where parts of other closures were finished and nothing was deposited',
    ),
  gas: z
    .array(
      z.strictObject({
        receipt: Code,
        bottle: Code.optional().describe('bottle or tank, where it is a consumable of its own'),
        from: PastMoment.optional().describe(
          'when it was opened to the closed chamber in place of the one before; open since the chamber closed when absent',
        ),
        quantity: Quantity.optional().describe('what was used of it'),
      }),
    )
    .default([])
    .describe('gas by bottle or tank'),
  consumables: z
    .array(
      z.strictObject({
        consumable: Code,
        step: RecipeStep,
        zones: z.array(Code).min(1).optional().describe('zones as logged; every zone with this step when absent'),
        uses: whole(1, 1_000_000).optional().describe('uses; one when absent'),
      }),
    )
    .optional()
    .describe('media, tips, tools and filters that were used'),
  software: z
    .array(z.strictObject({ software: Code, version: Text.describe('as the program itself said it') }))
    .min(1)
    .optional()
    .describe('programs that made the paths and ran the machine, with the version in which each ran'),
  changeover: Code.optional().describe('changeover since another alloy ran on the machine'),
  lineClearance: Claim.optional().describe('who saw before the chamber closed that nothing of another case was left'),
  continues: z
    .strictObject({ build: Code, fromLayer: whole(1) })
    .optional()
    .describe('an interrupted build that this one continues, and the first layer made in this one'),
  log: BuildLog.optional(),
});
export type Build = z.infer<typeof Build>;

export const BuiltZone = z.strictObject({
  zone: Code.describe('name as logged, unique in the build'),
  recipeZone: Code,
  layers: Layers,
});
export type BuiltZone = z.infer<typeof BuiltZone>;

const FurtherClosure = z.strictObject({
  build: Code.describe(
    'the closure: its machine and times stand under builds, its log names the zones of the part as zones does',
  ),
  steps: z
    .array(RecipeStep)
    .min(1)
    .describe(
      'steps that were done there. Without deposit it only finishes: each step is due once in each zone that the recipe treats so, at any layer or with none named',
    ),
  recipe: RecipeRef.optional().describe(
    'recipe by which they were done there; when absent that of the part, whose steps named here are then expected here alone',
  ),
});

const FurtherClosures = z
  .array(FurtherClosure)
  .optional()
  .describe('further closures of a chamber that it went through, of this or another machine');

export const Implant = z.strictObject({
  serial: Code.describe('unique for ever, never reused'),
  case: Code,
  designIteration: whole(1),
  build: Code,
  alsoIn: FurtherClosures,
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
  position: Code.optional().describe('place in the chamber'),
  orientation: Code.optional(),
  builtOn: Code.optional().describe('stock part on which it was built'),
});
export type Implant = z.infer<typeof Implant>;

export const Coupon = z.strictObject({
  coupon: Code,
  build: Code,
  alsoIn: FurtherClosures,
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
  position: Code.optional().describe('place in the chamber'),
  orientation: Code.optional(),
  builtOn: Code.optional().describe('stock part on which it was built, as its implants were'),
  use: z.enum(['planned', 'spare']).optional().describe('spare: tested only in place of another; planned when absent'),
  study: StudyRef.optional().describe('equivalence study that shows that it speaks for the implants'),
  standsFor: z.array(Code).min(1).describe('serials of the implants that this coupon stands for'),
  rationale: Text.describe('why it may stand for them'),
});
export type Coupon = z.infer<typeof Coupon>;

export const FindingDecision = z.strictObject({
  finding: z.string().regex(/^[0-9a-f]{12,64}$/, { error: 'at least the first 12 hexadecimal digits of the finding' }),
  decision: z.enum(['accepted', 'rejected']),
  rationale: Text,
  by: Code,
  at: PastMoment,
});

export type FindingDecision = z.infer<typeof FindingDecision>;

/** How a link, a lot file and a message call evidence that is kept apart. */
export const PERSONAL_DATA = 'personal data' as const;

/** A file that is kept with a lot or with a case, and says something by itself. */
export const Attachment = z.strictObject({
  file: FilePath,
  title: Text,
  personalData: z
    .union([z.literal(true), z.literal('true')])
    .transform(() => true as const)
    .optional()
    .describe(
      'true for a scan or a letter that tells who the patient is: kept apart, and only its hash goes into lot file, record and package. Its path and title are printed, so name nobody there',
    ),
});

export const Lot = z.strictObject({
  kind: z.literal('lot'),
  format: Format,
  lot: Code,
  family: Code,
  specification: SpecificationRef,
  opened: Claim,
  splitFrom: Code.optional().describe(
    'lot in which its units were built. Unit moves say which came over; builds, implants and coupons stand in the document of that lot',
  ),
  builds: z.array(Build).default([]).describe('at least one, but for a lot that was split from another'),
  implants: z.array(Implant).default([]),
  coupons: z.array(Coupon).default([]),
  steps: z.array(LotStep).default([]),
  decisions: z.array(FindingDecision).default([]).describe('decisions on findings: claims until signed here'),
  invalidTests: z.array(InvalidTest).optional(),
  replacements: z.array(Replacement).optional(),
  fates: z
    .array(PartFate)
    .optional()
    .describe('parts that are not there any more, or are kept back; all others are to be released or rejected'),
  labels: LabelCounts.optional().describe('what became of the labels, by number'),
  scans: z.array(ShapeScan).optional().describe('shapes as they were scanned'),
  attachments: z
    .array(Attachment)
    .default([])
    .describe('files that are of the lot as a whole; what is of one case is attached to the case'),
  reason: Reason,
});
export type Lot = z.infer<typeof Lot>;
