import { z } from 'zod';
import { Code, FilePath, Format, MapRef, PastMoment, Reason, Text, whole } from './fields.js';
import { type Contradiction, defineKind, repeated, tie, tooEarly } from './kind.js';
import { levelFaults, Window } from './recipe.js';

const stay = { from: PastMoment, to: PastMoment.optional().describe('when it left; still there when absent') };

const Stay = z.union([
  z.strictObject({ implant: Code, ...stay }),
  z.strictObject({ coupon: Code, ...stay }),
  z.strictObject({ state: Code.describe('powder state'), ...stay }),
]);

export const StoragePlace = z.strictObject({
  kind: z.literal('storage-place'),
  format: Format,
  place: Code,
  title: Text,
  what: z.enum(['dry store', 'clean room', 'powder store', 'quarantine', 'other']),
  windows: z.array(Window).min(1).describe('what the place must keep, such as humidity and temperature'),
  instruments: z
    .array(z.strictObject({ channel: Code, instrument: Code }))
    .min(1)
    .describe('sensor behind each channel'),
  logs: z
    .array(
      z.strictObject({
        file: FilePath.describe('CSV, plain or gzip: timestamp, layer, zone, step, then one column per channel'),
        map: MapRef.optional(),
        from: PastMoment,
        to: PastMoment,
        nominalPeriodMs: whole(1).describe('time between two rows when all is well'),
        gapLimitMs: whole(1).describe('a longer silence is a gap'),
      }),
    )
    .optional()
    .describe('what the sensors logged, and for what time'),
  stays: z.array(Stay).optional().describe('what was held there, from when to when'),
  reason: Reason,
});
export type StoragePlace = z.infer<typeof StoragePlace>;
type Held = z.infer<typeof Stay>;

const heldThing = (item: Held) => {
  if ('implant' in item) return { kind: 'implant', key: item.implant, field: 'implant' };
  if ('coupon' in item) return { kind: 'coupon', key: item.coupon, field: 'coupon' };
  return { kind: 'powder-state', key: item.state, field: 'state' };
};

/** One thing is in the place once at a time. Stays are compared with those of the same thing alone: there are many. */
function stayFaults(stays: readonly Held[]): Contradiction[] {
  const endOf = ({ to }: Held) => (to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to));
  const before = new Map<string, Held[]>();
  return stays.flatMap((item, index) => {
    const { kind, key } = heldThing(item);
    const earlier = before.get(`${kind} ${key}`) ?? [];
    before.set(`${kind} ${key}`, [...earlier, item]);
    const other = earlier.find((one) => Date.parse(one.from) < endOf(item) && Date.parse(item.from) < endOf(one));
    if (other === undefined) return [];
    return [
      {
        field: `stays[${index}].from`,
        found: `${key} from ${item.from}, while it was there from ${other.from} on`,
        expected: 'one stay at a time',
        remedy: 'correct the times, or say when it left',
      },
    ];
  });
}

/** Each window is of a channel that has a sensor, or nobody could say that it was kept. */
function sensorFaults({ windows, instruments }: StoragePlace): Contradiction[] {
  const logged = new Set(instruments.map(({ channel }) => channel));
  return windows.flatMap(({ channel }, index) =>
    logged.has(channel)
      ? []
      : [
          {
            field: `windows[${index}].channel`,
            found: channel,
            expected: 'a channel that stands under instruments',
            remedy: 'name the instrument that logs it, or correct the spelling',
          },
        ],
  );
}

export const storagePlace = defineKind<StoragePlace>({
  kind: 'storage-place',
  numbering: 'running',
  purpose: 'Where parts and powder lie, what the place must keep, and what was held there from when to when.',
  schema: StoragePlace,
  key: (document) => document.place,
  name: (document) => document.title,
  links: (document) => [
    ...document.instruments.map(({ instrument }, index) =>
      tie('logged with', 'instrument', instrument, `instruments[${index}].instrument`),
    ),
    ...(document.logs ?? []).flatMap(({ map }, index) =>
      map === undefined
        ? []
        : [tie('log read by', 'channel-map', map.map, `logs[${index}].map`, { revision: map.revision })],
    ),
    ...(document.stays ?? []).map((item, index) => {
      const { kind, key, field } = heldThing(item);
      return tie('held', kind, key, `stays[${index}].${field}`, { aside: true });
    }),
  ],
  contradictions: (document) => [
    ...document.windows.flatMap((window, index) => levelFaults(window, `windows[${index}]`)),
    ...repeated(
      document.windows.map(({ channel }) => channel),
      (index) => `windows[${index}].channel`,
      'channel',
    ),
    ...repeated(
      document.instruments.map(({ channel }) => channel),
      (index) => `instruments[${index}].channel`,
      'channel',
    ),
    ...sensorFaults(document),
    ...(document.logs ?? []).flatMap(({ from, to }, index) => tooEarly(`logs[${index}].to`, to, from, 'it began')),
    ...repeated(
      (document.logs ?? []).map(({ file }) => file),
      (index) => `logs[${index}].file`,
      'log',
    ),
    ...(document.stays ?? []).flatMap(({ from, to }, index) => tooEarly(`stays[${index}].to`, to, from, 'it came')),
    ...stayFaults(document.stays ?? []),
  ],
  files: ({ logs = [] }) =>
    logs.map(({ file }, index) => ({ path: file, field: `logs[${index}].file`, name: 'log' as const })),
});
