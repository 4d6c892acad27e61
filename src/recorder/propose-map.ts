import { Document, type YAMLMap } from 'yaml';
import { BadInputError } from '../base/errors.js';
import { ChannelMap } from '../kinds/channel-map.js';
import { STANDARD_UNITS } from '../process-logs/mtconnect/standard-units.js';
import { MAP_WORDS } from '../report/phrases/commands/recorder.js';
import type { Declared, DeclaredItem } from './read-devices.js';

/** Types of the standard that tell where an additive machine works (MTConnect Part 3). */
const LAYER = 'MATERIAL_LAYER';
const STEP = 'PART_PROCESSING_STATE';

/** A channel map to be looked at and mended, and how many data items it leaves out. */
export interface ProposedMap {
  readonly map: ChannelMap;
  /** Of category and representation that no channel can have, or in no unit that the standard knows; with why. */
  readonly leftOut: readonly { readonly item: DeclaredItem; readonly why: keyof typeof MAP_WORDS.leftOut }[];
  /** Events, one of which may be the zone. */
  readonly events: readonly DeclaredItem[];
  /** Where what the agent declares names two versions. */
  readonly otherVersion: Declared['otherVersion'];
}

/**
 * Each sample with a unit of the standard becomes a channel, each condition a finding. What is worth a channel, what the
 * levels are and where the zone is told, people decide.
 * @throws BadInputError when the device is not there, or declares no sample.
 */
export function proposeMap(
  { devices, otherVersion }: Declared,
  { device: name, code, machine }: { readonly device?: string; readonly code: string; readonly machine: string },
): ProposedMap {
  const device = name === undefined ? devices[0] : devices.find((one) => one.name === name);
  const known = devices.map((one) => one.name).join(', ');
  if (!device || (name === undefined && devices.length > 1)) {
    throw new BadInputError([
      {
        ...{ code: 'device', field: '--device', found: name ?? `${devices.length} devices` },
        ...{ expected: `one of ${known || 'none'}`, remedy: 'name the device whose log is mapped' },
      },
    ]);
  }
  const samples = device.items.filter(({ category }) => category === 'SAMPLE');
  const fates = samples.map((item) => ({ item, fate: fateOf(item) }));
  const names = new Set<string>();
  const channels = fates.flatMap(({ item, fate }) =>
    'ucum' in fate
      ? [
          {
            ...{ dataItem: item.id, channel: channelName(item, names), ucum: fate.ucum },
            ...(item.representation === 'TIME_SERIES' && /^\d+(\.\d+)?$/.test(item.sampleRate)
              ? { sampleRateHz: item.sampleRate }
              : {}),
          },
        ]
      : [],
  );
  if (channels.length === 0) {
    const remedy = 'look whether the agent declares units; a channel needs one';
    throw new BadInputError([
      {
        code: 'device',
        found: `no sample with a unit of the standard in ${device.name}`,
        expected: 'one at least',
        remedy,
      },
    ]);
  }
  const events = device.items.filter(({ category }) => category === 'EVENT');
  const only = (type: string) => {
    const found = events.filter((item) => item.type === type);
    return found.length === 1 ? found[0]!.id : undefined;
  };
  const [layer, step] = [only(LAYER), only(STEP)];
  const conditions = device.items.filter(({ category }) => category === 'CONDITION');
  const map: ChannelMap = {
    ...{ kind: 'channel-map', format: 1, map: code, revision: 1, title: MAP_WORDS.title(device.name), machine },
    ...{ source: 'MTConnect streams', channels },
    place: { ...(layer === undefined ? {} : { layer }), ...(step === undefined ? {} : { step }) },
    conditions: conditions.map(({ id }) => ({ dataItem: id, warning: 'alert', fault: 'action' })),
    everySequence: 'yes',
  };
  return {
    map: ChannelMap.parse(map),
    leftOut: fates.flatMap(({ item, fate }) => ('why' in fate ? [{ item, why: fate.why }] : [])),
    events,
    otherVersion,
  };
}

type Fate = { readonly ucum: string } | { readonly why: keyof typeof MAP_WORDS.leftOut };

function fateOf({ units, representation }: DeclaredItem): Fate {
  if (representation !== 'VALUE' && representation !== 'TIME_SERIES') return { why: 'set' };
  const ucum = STANDARD_UNITS[units];
  if (ucum === undefined) return { why: units === '' ? 'unit missing' : 'unit unknown' };
  return ucum === null ? { why: 'several numbers' } : { ucum };
}

/** By its name, else by component and type; a second one of a name has its identifier beside it. */
function channelName({ name, component, type, subType, id }: DeclaredItem, names: Set<string>): string {
  const words = name === '' ? [component, type, subType === 'ACTUAL' ? '' : subType] : [name];
  const plain = words
    .join('_')
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}]+/gu, '_')
    .replaceAll(/^_+|_+$/g, '')
    .slice(0, 40);
  const free = [plain, `${plain}_${id.replaceAll(/[^\p{L}\p{N}]+/gu, '_')}`.slice(0, 58), id].find(
    (one) => one !== '' && !names.has(one),
  )!;
  names.add(free);
  return free;
}

/** The map as YAML, with what was left out and what could be the place as comments. */
export function mapText({ map, leftOut, events, otherVersion }: ProposedMap): string {
  const document = new Document(map);
  document.commentBefore = [
    MAP_WORDS.head,
    ...(otherVersion === null ? [] : [MAP_WORDS.version(otherVersion.said, otherVersion.readBy)]),
  ].join('\n');
  const body = document.contents as unknown as YAMLMap;
  const comment = (key: string, lines: readonly string[]) => {
    const pair = body.items.find((item) => String(item.key) === key);
    if (pair && lines.length > 0) (pair.key as { commentBefore?: string }).commentBefore = lines.join('\n');
  };
  comment(
    'channels',
    leftOut.map(({ item, why }) => MAP_WORDS.leftOut[why](`${item.id} (${item.type})`, item.units)),
  );
  comment('place', [MAP_WORDS.place, ...events.map(({ id, type, name }) => MAP_WORDS.event(id, type, name))]);
  comment('conditions', [MAP_WORDS.conditions]);
  return document.toString({ lineWidth: 0 });
}
