import { z } from 'zod';
import { Code, Format, PositiveDecimal, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, repeated, tie } from './kind.js';

/** Identifier of a data item, as the agent of the machine declares it: an XML name token. */
const DataItem = z
  .string()
  .regex(/^[\p{L}\p{N}_:.-]{1,100}$/u, { error: 'the dataItemId of a data item, without blanks' })
  .describe('dataItemId');

/** Key of an entry or a cell: an XML name token too, and longer ones are in use. */
const EntryKey = z.string().regex(/^\S{1,200}$/, { error: 'the key of an entry or a cell, without blanks' });

const Channel = z.strictObject({
  dataItem: DataItem,
  channel: Code,
  ucum: Ucum,
  key: EntryKey.optional().describe('of a data set or a table: which entry is the channel'),
  cell: EntryKey.optional().describe('of a table: which cell of the entry is the channel'),
  sampleRateHz: PositiveDecimal.optional().describe(
    'values in a second, as the agent declares the data item, where its time series do not say it themselves',
  ),
});

const ConditionLevel = z.enum(['alert', 'action', 'reject', 'ignored']);

export const ChannelMap = z.strictObject({
  kind: z.literal('channel-map'),
  format: Format,
  map: Code,
  revision: whole(1),
  title: Text,
  machine: Code,
  source: z
    .literal('MTConnect streams')
    .describe('the open standard that the machine speaks: ANSI/MTC1.4 and its revisions'),
  channels: z
    .array(Channel)
    .min(1)
    .describe('which data item is which channel, and in which unit the machine reports it'),
  place: z
    .strictObject({ layer: DataItem.optional(), zone: DataItem.optional(), step: DataItem.optional() })
    .describe('data items that say where the machine is working'),
  steps: z
    .array(z.strictObject({ reported: z.string().min(1).max(200), step: z.string().min(1).max(60) }))
    .optional()
    .describe('steps of the recipe for values as reported; a value that is not listed is the step itself'),
  conditions: z
    .array(z.strictObject({ dataItem: DataItem, warning: ConditionLevel, fault: ConditionLevel }))
    .optional()
    .describe('conditions that become findings, each with its level; others are not looked at'),
  everySequence: z
    .enum(['yes', 'no'])
    .describe('yes: the agent was asked for everything, so a missing sequence number is a lost observation'),
});
export type ChannelMap = z.infer<typeof ChannelMap>;

/** The entry that is a channel; another name for each channel that is none. */
function entryName({ dataItem, key, cell }: ChannelMap['channels'][number], index: number): string {
  if (key === undefined) return String(index);
  return `${key}${cell === undefined ? '' : `, ${cell}`} of ${dataItem}`;
}

function contradictions({ channels, place, conditions, steps }: ChannelMap): Contradiction[] {
  const items = [
    ...channels.flatMap(({ dataItem, key }, index) =>
      // Several entries of one set may each be a channel.
      key !== undefined && channels.findIndex((other) => other.dataItem === dataItem && other.key !== undefined) < index
        ? []
        : [{ dataItem, field: `channels[${index}].dataItem` }],
    ),
    ...(['layer', 'zone', 'step'] as const).flatMap((name) =>
      place[name] === undefined ? [] : [{ dataItem: place[name], field: `place.${name}` }],
    ),
    ...(conditions ?? []).map(({ dataItem }, index) => ({ dataItem, field: `conditions[${index}].dataItem` })),
  ];
  return [
    ...repeated(
      items.map(({ dataItem }) => dataItem),
      (index) => items[index]!.field,
      'data item',
    ),
    ...repeated(channels.map(entryName), (index) => `channels[${index}].key`, 'entry'),
    ...channels.flatMap(({ key, cell }, index) =>
      cell === undefined || key !== undefined
        ? []
        : [
            {
              field: `channels[${index}].cell`,
              found: cell,
              expected: 'the key of the entry that has this cell, too',
              remedy: 'write the key beside the cell',
            },
          ],
    ),
    ...repeated(
      channels.map(({ channel }) => channel),
      (index) => `channels[${index}].channel`,
      'channel',
    ),
    ...repeated(
      (steps ?? []).map(({ reported }) => reported),
      (index) => `steps[${index}].reported`,
      'reported step',
    ),
  ];
}

export const channelMap = defineKind<ChannelMap>({
  kind: 'channel-map',
  numbering: 'document',
  purpose: 'How the data items of a machine that speaks an open standard become the channels of its log.',
  schema: ChannelMap,
  key: (document) => document.map,
  name: (document) => document.title,
  links: (document) => [tie('maps', 'machine', document.machine, 'machine', { aside: true })],
  contradictions,
});
