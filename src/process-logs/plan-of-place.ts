import { convert } from '../base/units.js';
import type { ChannelMap } from '../kinds/channel-map.js';
import type { StoragePlace } from '../kinds/storage-place.js';
import type { BuildScan } from './build-report.js';
import { LEVELS } from './levels.js';
import type { PlannedChannel, ScanWindow } from './plan.js';

/**
 * How a log of a storage place is scanned: by the windows of the place, all the time. Nothing is built there, so no zone is
 * expected and no atmosphere is inert.
 * @param log with the path where its bytes lie, and the channel map by which it is read; null for our own CSV.
 */
export function placeRequest(
  { place, windows, instruments }: StoragePlace,
  index: number,
  log: PlaceLogFile,
): BuildScan {
  const { file, nominalPeriodMs, gapLimitMs, readBy: map } = log;
  const channels = instruments.map(({ channel }): PlannedChannel => {
    const ucum = windows.find((window) => window.channel === channel)?.ucum ?? null;
    return { name: channel, ucum, loggedUcum: ucum, unitFrom: ucum === null ? [] : ['lot file'], dewPoint: null };
  });
  const plan = {
    build: `${place}:${index}`,
    channels,
    windows: windows.flatMap(levelsOf),
    setValues: [],
    inert: { channels: [], joinMs: 0 },
    closure: null,
    expected: [],
    nominalPeriodMs,
    gapLimitMs,
    clockOffsetMs: 0,
  };
  return { plan, sources: [{ path: log.path, fileName: file, channels, clockOffsetMs: 0, gapLimitMs, map }] };
}

export type PlaceLogFile = NonNullable<StoragePlace['logs']>[number] & {
  readonly path: string;
  readonly readBy: ChannelMap | null;
};

function levelsOf(window: StoragePlace['windows'][number]): ScanWindow[] {
  const { channel, above, below, minimumDurationS, integralLimit } = window;
  const limit = (text: string | undefined) => (text === undefined ? null : Number(text));
  return LEVELS.filter((level) => above?.[level] !== undefined || below?.[level] !== undefined).map((level) => ({
    ...{ channel, level, low: limit(below?.[level]), high: limit(above?.[level]) },
    minimumMs: minimumDurationS === undefined ? null : Number(convert(minimumDurationS, 's', 'ms')),
    integralLimit: limit(integralLimit),
    scope: 'closure',
  }));
}
