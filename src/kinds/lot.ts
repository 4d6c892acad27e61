import { z } from 'zod';
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
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, type Declared, defineKind, type LinkDraft, repeated } from './kind.js';

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

export const BuildLog = z.strictObject({
  file: FilePath.describe('CSV, plain or gzip: timestamp, layer, zone, step, then one column per channel'),
  units: FilePath.optional().describe('sidecar of the log: YAML with the unit of each channel'),
  channels: z.array(LoggedChannel).min(1).describe('the logged channels and their units'),
  nominalPeriodMs: whole(1).describe('time between two rows when all is well'),
  gapLimitMs: whole(1).describe('a longer silence is a gap'),
  clockOffsetMs: z
    .union([z.string().regex(/^-?\d{1,9}$/, { error: 'a whole number of milliseconds' }), z.number().int()])
    .transform(Number)
    .default(0)
    .describe('what must be added to the recorder clock to get true time'),
});

export const Build = z.strictObject({
  build: Code.describe('one closure of the chamber: machine and run number'),
  machine: Code,
  run: whole(1),
  closedAt: Moment.describe('chamber closed'),
  openedAt: Moment.describe('chamber opened'),
  operator: Code,
  powder: z.array(z.strictObject({ state: Code, massG: PositiveDecimal })).min(1),
  gas: z.array(z.strictObject({ receipt: Code })).default([]),
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
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
});
export type Implant = z.infer<typeof Implant>;

export const Coupon = z.strictObject({
  coupon: Code,
  build: Code,
  recipe: RecipeRef,
  zones: z.array(BuiltZone).min(1),
  standsFor: z.array(Code).min(1).describe('serials of the implants that this coupon stands for'),
  rationale: Text.describe('why it may stand for them: the equivalence study or its reference'),
});
export type Coupon = z.infer<typeof Coupon>;

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
  attachments: z.array(z.strictObject({ file: FilePath, title: Text })).default([]),
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
    ...parts.flatMap(({ part, field }) => partContradictions(part, field, builds)),
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
    ...document.decisions.map((decision, index) => ({
      name: 'decision claimed by',
      kind: 'person',
      key: decision.by,
      field: `decisions[${index}].by`,
    })),
  ];
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
          ...build.gas.map((gas, place) => ({
            name: 'under gas',
            kind: 'receipt',
            key: gas.receipt,
            field: `${field}.gas[${place}].receipt`,
          })),
          ...(build.log?.channels ?? []).flatMap(({ instrument }, place) =>
            instrument === undefined
              ? []
              : [
                  {
                    name: 'logged with',
                    kind: 'instrument',
                    key: instrument,
                    field: `${field}.log.channels[${place}].instrument`,
                  },
                ],
          ),
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
          recipeLink(coupon, field),
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
    ...document.builds.flatMap((build, index) =>
      build.log ? [{ path: build.log.file, field: `builds[${index}].log.file`, name: 'log' as const }] : [],
    ),
    ...document.builds.flatMap((build, index) =>
      build.log?.units
        ? [{ path: build.log.units, field: `builds[${index}].log.units`, name: 'units of a log' as const }]
        : [],
    ),
    ...document.attachments.map((attachment, index) => ({
      path: attachment.file,
      field: `attachments[${index}].file`,
      name: 'attachment' as const,
    })),
  ],
});
