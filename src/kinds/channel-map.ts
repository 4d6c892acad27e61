import { z } from 'zod';
import { Code, Format, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, repeated, tie } from './kind.js';

/** Identifier of a data item, as the agent of the machine declares it: an XML name token. */
const DataItem = z
  .string()
  .regex(/^[\p{L}\p{N}_:.-]{1,100}$/u, { error: 'the dataItemId of a data item, without blanks' })
  .describe('dataItemId');

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
    .array(z.strictObject({ dataItem: DataItem, channel: Code, ucum: Ucum }))
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

function contradictions({ channels, place, conditions, steps }: ChannelMap): Contradiction[] {
  const items = [
    ...channels.map(({ dataItem }, index) => ({ dataItem, field: `channels[${index}].dataItem` })),
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
