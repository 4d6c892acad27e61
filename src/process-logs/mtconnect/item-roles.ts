import type { ChannelMap } from '../../kinds/channel-map.js';
import type { ScannedChannel } from '../channels.js';

/** A channel that is one value of a data set, or one cell of a table. */
export interface KeyedChannel {
  readonly index: number;
  readonly key: string;
  readonly cell: string | undefined;
}

/** What is done with the observations of one data item. */
export type ItemRole =
  | { readonly as: 'channel'; readonly index: number; readonly rateHz: number | undefined }
  | { readonly as: 'channels by key'; readonly channels: readonly KeyedChannel[] }
  | { readonly as: 'layer' | 'zone' | 'step' };

/** By data item. Channels that nobody asked for have no role. */
export function itemRoles(map: ChannelMap, channels: readonly ScannedChannel[]): ReadonlyMap<string, ItemRole> {
  const roles = new Map<string, ItemRole>();
  for (const { dataItem, channel, key, cell, sampleRateHz } of map.channels) {
    const index = channels.findIndex(({ name }) => name === channel);
    if (index < 0) continue;
    if (key === undefined) {
      const rateHz = sampleRateHz === undefined ? undefined : Number(sampleRateHz);
      roles.set(dataItem, { as: 'channel', index, rateHz });
      continue;
    }
    const known = roles.get(dataItem);
    const others = known?.as === 'channels by key' ? known.channels : [];
    roles.set(dataItem, { as: 'channels by key', channels: [...others, { index, key, cell }] });
  }
  for (const as of ['layer', 'zone', 'step'] as const) {
    const dataItem = map.place[as];
    if (dataItem !== undefined) roles.set(dataItem, { as });
  }
  return roles;
}
