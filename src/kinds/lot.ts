import { z } from 'zod';
import { chainContradictions } from './build-chain.js';
import {
  Claim,
  Code,
  FilePath,
  Format,
  Layers,
  Moment,
  PositiveDecimal,
  Reason,
  RecipeRef,
  SpecificationRef,
  StudyRef,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, type Declared, defineKind, type LinkDraft, repeated } from './kind.js';
import { logFiles, logMapLinks, logsOf } from './log-files.js';

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

const MapRef = z
  .strictObject({ map: Code, revision: whole(1) })
  .describe('the file is a stream of an open standard, read by this channel map; CSV when absent');

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

export const Build = z.strictObject({
  state: z
    .enum(['planned', 'built'])
    .optional()
    .describe('planned: not built yet, its times are those of the plan; built when absent'),
  build: Code.describe('one closure of the chamber: machine and run number'),
  machine: Code,
  run: whole(1),
  closedAt: Moment.describe('chamber closed'),
  openedAt: Moment.describe('chamber opened'),
  operator: Code,
  powder: z.array(z.strictObject({ state: Code, massG: PositiveDecimal })).min(1),
  gas: z.array(z.strictObject({ receipt: Code })).default([]),
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

export const Implant = z.strictObject({
  serial: Code.describe('unique for ever, never reused'),
  case: Code,
  designIteration: whole(1),
  build: Code,
  alsoIn: z.array(Code).optional().describe('further closures of the chamber that it went through'),
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
  position: Code.optional().describe('place in the chamber'),
  orientation: Code.optional(),
});
export type Implant = z.infer<typeof Implant>;

export const Coupon = z.strictObject({
  coupon: Code,
  build: Code,
  alsoIn: z.array(Code).optional().describe('further closures of the chamber that it went through'),
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
  position: Code.optional().describe('place in the chamber'),
  orientation: Code.optional(),
  use: z.enum(['planned', 'spare']).optional().describe('spare: tested only in place of another; planned when absent'),
  study: StudyRef.optional().describe('equivalence study that shows that it speaks for the implants'),
  standsFor: z.array(Code).min(1).describe('serials of the implants that this coupon stands for'),
  rationale: Text.describe('why it may stand for them'),
});
export type Coupon = z.infer<typeof Coupon>;

/** Every closure of the chamber that a part went through, the first one first. */
export const closuresOf = (part: Pick<Implant | Coupon, 'build' | 'alsoIn'>): string[] => [
  part.build,
  ...(part.alsoIn ?? []),
];

export const FindingDecision = z.strictObject({
  finding: z.string().regex(/^[0-9a-f]{12,64}$/, { error: 'at least the first 12 hexadecimal digits of the finding' }),
  decision: z.enum(['accepted', 'rejected']),
  rationale: Text,
  by: Code,
  at: Moment,
});

export type FindingDecision = z.infer<typeof FindingDecision>;

export const LotStep = z.strictObject({
  step: z.enum(['clean', 'etch', 'heat-treat', 'dry', 'inspect', 'pack', 'sterilise']),
  at: Moment,
  by: Code,
  note: Text.optional(),
  parts: z.array(Code).optional().describe('serials and coupons that went through it; the whole lot when absent'),
  load: Code.optional().describe('load of the furnace, washer or steriliser'),
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
  at: Moment,
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

export const Counts = z.strictObject({
  made: whole(0),
  released: whole(0),
  rejected: whole(0),
  destructivelyTested: whole(0),
  retained: whole(0),
  inProgress: whole(0),
});
export type Counts = z.infer<typeof Counts>;

export const LabelCounts = z.strictObject({ printed: whole(0), used: whole(0), destroyed: whole(0) });

/** How a link, a lot file and a message call evidence that is kept apart. */
export const PERSONAL_DATA = 'personal data' as const;

const Attachment = z.strictObject({
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
  builds: z.array(Build).min(1),
  implants: z.array(Implant).default([]),
  coupons: z.array(Coupon).default([]),
  steps: z.array(LotStep).default([]),
  decisions: z.array(FindingDecision).default([]).describe('decisions on findings: claims until signed here'),
  invalidTests: z.array(InvalidTest).optional(),
  replacements: z.array(Replacement).optional(),
  counts: Counts.optional().describe('what became of the implants, by number'),
  labels: LabelCounts.optional().describe('what became of the labels, by number'),
  attachments: z.array(Attachment).default([]),
  reason: Reason,
});
export type Lot = z.infer<typeof Lot>;

function unknown(field: string, found: string, what: string): Contradiction {
  return {
    field,
    found,
    expected: `a ${what} that this file declares`,
    remedy: `declare the ${what} or correct the spelling`,
  };
}

function partContradictions(part: Implant | Coupon, field: string, builds: ReadonlySet<string>): Contradiction[] {
  return [
    ...(builds.has(part.build) ? [] : [unknown(`${field}.build`, part.build, 'build')]),
    ...(part.alsoIn ?? []).flatMap((build, index) =>
      builds.has(build) ? [] : [unknown(`${field}.alsoIn[${index}]`, build, 'build')],
    ),
    ...part.zones.flatMap((zone, index) =>
      zone.layers.from > zone.layers.to
        ? [
            {
              field: `${field}.zones[${index}].layers`,
              found: `${zone.layers.from} to ${zone.layers.to}`,
              expected: 'from not above to',
              remedy: 'swap the two ends',
            },
          ]
        : [],
    ),
  ];
}

/** Parts that steps, invalid tests and replacements name must be parts of this lot. */
function namesKnown(document: Lot, parts: ReadonlySet<string>): Contradiction[] {
  const named = [
    ...document.steps.flatMap((step, index) =>
      (step.parts ?? []).map((name, place) => ({ name, field: `steps[${index}].parts[${place}]` })),
    ),
    ...(document.invalidTests ?? []).map(({ result }, index) => ({
      name: result.specimen,
      field: `invalidTests[${index}].result.specimen`,
    })),
    ...(document.replacements ?? []).flatMap(({ replaces, by }, index) => [
      { name: replaces, field: `replacements[${index}].replaces` },
      { name: by, field: `replacements[${index}].by` },
    ]),
  ];
  return named.flatMap(({ name, field }) => (parts.has(name) ? [] : [unknown(field, name, 'implant or coupon')]));
}

function contradictions(document: Lot): Contradiction[] {
  const builds = new Set(document.builds.map((build) => build.build));
  const serials = new Set(document.implants.map((implant) => implant.serial));
  const parts = [
    ...document.implants.map((part, index) => ({ part, code: part.serial, field: `implants[${index}]` })),
    ...document.coupons.map((part, index) => ({ part, code: part.coupon, field: `coupons[${index}]` })),
  ];
  const zones = parts.flatMap(({ part, field }) =>
    part.zones.map((zone, index) => ({ name: `${part.build} ${zone.zone}`, field: `${field}.zones[${index}].zone` })),
  );
  return [
    ...repeated(
      document.builds.map((build) => build.build),
      (index) => `builds[${index}].build`,
      'build',
    ),
    ...repeated(
      parts.map(({ code }) => code),
      (index) => parts[index]!.field,
      'implant or coupon',
    ),
    ...repeated(
      zones.map(({ name }) => name),
      (index) => zones[index]!.field,
      'zone of a build',
    ),
    ...document.builds.flatMap((build, index) =>
      Date.parse(build.openedAt) <= Date.parse(build.closedAt)
        ? [
            {
              field: `builds[${index}].openedAt`,
              found: build.openedAt,
              expected: `a moment after ${build.closedAt}`,
              remedy: 'correct one of the two times',
            },
          ]
        : [],
    ),
    ...chainContradictions(document),
    ...parts.flatMap(({ part, field }) => partContradictions(part, field, builds)),
    ...namesKnown(document, new Set(parts.map(({ code }) => code))),
    ...document.coupons.flatMap((coupon, index) =>
      coupon.standsFor.flatMap((serial, place) =>
        serials.has(serial) ? [] : [unknown(`coupons[${index}].standsFor[${place}]`, serial, 'implant')],
      ),
    ),
  ];
}

function links(document: Lot): LinkDraft[] {
  const { specification } = document;
  return [
    { name: 'of family', kind: 'family', key: document.family, field: 'family' },
    {
      name: 'judged by',
      kind: 'specification',
      key: specification.specification,
      revision: specification.revision,
      field: 'specification',
    },
    { name: 'opened by', kind: 'person', key: document.opened.by, field: 'opened.by' },
    ...logMapLinks(document.builds),
    ...document.builds.flatMap((build, index) => [
      { name: 'built in', kind: 'build', key: build.build, field: `builds[${index}].build` },
    ]),
    ...document.implants.map((implant, index) => ({
      name: 'consists of',
      kind: 'implant',
      key: implant.serial,
      field: `implants[${index}].serial`,
    })),
    ...document.coupons.map((coupon, index) => ({
      name: 'consists of',
      kind: 'coupon',
      key: coupon.coupon,
      field: `coupons[${index}].coupon`,
    })),
    ...document.steps.map((step, index) => ({
      name: `${step.step} by`,
      kind: 'person',
      key: step.by,
      field: `steps[${index}].by`,
    })),
    ...(document.invalidTests ?? []).flatMap((test, index) => [
      { name: 'invalid test seen by', kind: 'person', key: test.seenBy, field: `invalidTests[${index}].seenBy` },
      {
        name: 'invalid test decided by',
        kind: 'person',
        key: test.decidedBy,
        field: `invalidTests[${index}].decidedBy`,
      },
    ]),
    ...document.decisions.map((decision, index) => ({
      name: 'decision claimed by',
      kind: 'person',
      key: decision.by,
      field: `decisions[${index}].by`,
    })),
  ];
}

const closureLinks = (part: Implant | Coupon, field: string): LinkDraft[] =>
  (part.alsoIn ?? []).map((build, index) => ({
    name: 'built in',
    kind: 'build',
    key: build,
    field: `${field}.alsoIn[${index}]`,
  }));

function sensorLinks({ channels }: Pick<BuildLog, 'channels'>, field: string): LinkDraft[] {
  return channels.flatMap(({ instrument }, index) =>
    instrument === undefined
      ? []
      : [{ name: 'logged with', kind: 'instrument', key: instrument, field: `${field}.channels[${index}].instrument` }],
  );
}

function recipeLink(part: Implant | Coupon, field: string): LinkDraft {
  return {
    name: 'built by recipe',
    kind: 'recipe',
    key: part.recipe.recipe,
    revision: part.recipe.revision,
    field: `${field}.recipe`,
  };
}

function declares(document: Lot): Declared[] {
  return [
    ...document.builds.map((build, index) => {
      const field = `builds[${index}]`;
      return {
        kind: 'build',
        key: build.build,
        name: `run ${build.run} of ${build.machine}`,
        body: { lot: document.lot, ...build },
        links: [
          { name: 'on machine', kind: 'machine', key: build.machine, field: `${field}.machine` },
          { name: 'run by', kind: 'person', key: build.operator, field: `${field}.operator` },
          ...build.powder.map((powder, place) => ({
            name: 'deposited',
            kind: 'powder-state',
            key: powder.state,
            massG: powder.massG,
            field: `${field}.powder[${place}].state`,
          })),
          ...(build.continues === undefined
            ? []
            : [{ name: 'continues', kind: 'build', key: build.continues.build, field: `${field}.continues.build` }]),
          ...build.gas.map((gas, place) => ({
            name: 'under gas',
            kind: 'receipt',
            key: gas.receipt,
            field: `${field}.gas[${place}].receipt`,
          })),
          ...logsOf(build).flatMap(({ log, field: place }) => sensorLinks(log, `${field}.${place}`)),
        ],
        field,
      };
    }),
    ...document.implants.map((implant, index) => {
      const field = `implants[${index}]`;
      return {
        kind: 'implant',
        key: implant.serial,
        name: `implant for case ${implant.case}`,
        body: { lot: document.lot, ...implant },
        links: [
          { name: 'for case', kind: 'case', key: implant.case, field: `${field}.case` },
          { name: 'built in', kind: 'build', key: implant.build, field: `${field}.build` },
          ...closureLinks(implant, field),
          recipeLink(implant, field),
        ],
        field,
      };
    }),
    ...document.coupons.map((coupon, index) => {
      const field = `coupons[${index}]`;
      return {
        kind: 'coupon',
        key: coupon.coupon,
        name: `coupon for ${coupon.standsFor.join(', ')}`,
        body: { lot: document.lot, ...coupon },
        links: [
          { name: 'built in', kind: 'build', key: coupon.build, field: `${field}.build` },
          ...closureLinks(coupon, field),
          recipeLink(coupon, field),
          ...(coupon.study
            ? [
                {
                  name: 'speaks by study',
                  kind: 'equivalence-study',
                  key: coupon.study.study,
                  revision: coupon.study.revision,
                  field: `${field}.study`,
                },
              ]
            : []),
        ],
        field,
      };
    }),
  ];
}

export const lot = defineKind<Lot>({
  kind: 'lot',
  title: 'lot',
  numbering: 'running',
  purpose: 'What is released together: its builds, implants and coupons, with everything that went into them.',
  schema: Lot,
  key: (document) => document.lot,
  name: (document) => `lot ${document.lot}`,
  links,
  declares,
  contradictions,
  files: (document) => [
    ...logFiles(document.builds),
    ...document.attachments.map((attachment, index) => ({
      path: attachment.file,
      field: `attachments[${index}].file`,
      name: attachment.personalData ? PERSONAL_DATA : ('attachment' as const),
    })),
  ],
});
