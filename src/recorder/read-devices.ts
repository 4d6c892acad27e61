import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { readStrictXml } from '../base/strict-xml.js';
import { otherVersion, STREAM_VERSIONS } from '../kinds/stream-versions.js';

/** One thing that a machine observes, as its agent declares it (MTConnect Part 2, DataItem). */
export interface DeclaredItem {
  readonly id: string;
  /** Its name, where it has one. */
  readonly name: string;
  readonly category: string;
  readonly type: string;
  readonly subType: string;
  readonly units: string;
  /** VALUE, TIME_SERIES, DATA_SET, TABLE, DISCRETE. */
  readonly representation: string;
  /** Values in a second, of a time series. */
  readonly sampleRate: string;
  /** Component that it belongs to, by name. */
  readonly component: string;
  readonly line: number;
}

export interface DeclaredDevice {
  readonly name: string;
  readonly items: readonly DeclaredItem[];
}

/** What an agent declares. */
export interface Declared {
  readonly devices: readonly DeclaredDevice[];
  /** What the header names as its version, where that is another one than that of the namespace, by which it was read. */
  readonly otherVersion: { readonly said: string; readonly readBy: string } | null;
}

const NAMESPACES = new Map(
  STREAM_VERSIONS.map((version) => [`urn:mtconnect.org:MTConnectDevices:${version}`, version]),
);
/** So much is told of what a header names as its version. */
const LONGEST_VERSION = 40;

/**
 * The devices of an MTConnectDevices document, the answer to a probe request.
 * @throws BadInputError with the line for what is none, is not well formed, or names a data item twice.
 */
export function readDevices(file: string, bytes: Buffer): Declared {
  const refuse = (line: number, found: string, expected: string): never => {
    const remedy = 'save the answer of the agent to a probe request again';
    throw new BadInputError([{ code: 'mtconnect-devices', file, line, found, expected, remedy }]);
  };
  if (bytes.length > MOST.recordedDocumentBytes) {
    refuse(1, `${bytes.length} bytes`, `at most ${MOST.recordedDocumentBytes}`);
  }
  const devices: { name: string; items: DeclaredItem[] }[] = [];
  const seen = new Set<string>();
  let version = '';
  let headerSays = '';
  /** Names of what is open; a component has a name or is named by its element. */
  const path: string[] = [];
  readStrictXml(bytes, {
    root: 'MTConnectDevices',
    namespaces: [...NAMESPACES.keys()],
    expected: `MTConnectDevices of urn:mtconnect.org:MTConnectDevices, versions ${STREAM_VERSIONS[0]} to ${STREAM_VERSIONS.at(-1)}`,
    refuse,
    leave: () => path.pop(),
    enter: ({ local, uri, attributes }, line) => {
      const said = (attribute: string) => attributes[attribute]?.value ?? '';
      const depth = path.push(said('name') || local);
      if (depth === 1) version = NAMESPACES.get(uri)!;
      if (depth === 2 && local === 'Header') headerSays = said('version').trim().slice(0, LONGEST_VERSION);
      if (depth === 3 && local === 'Device') devices.push({ name: said('name') || said('id'), items: [] });
      const device = devices.at(-1);
      if (local !== 'DataItem' || !device) return;
      const id = said('id');
      if (id === '' || seen.has(id))
        refuse(line, id === '' ? 'a data item without id' : `the data item ${id} twice`, 'each once');
      seen.add(id);
      device.items.push({
        ...{ id, name: said('name'), category: said('category'), type: said('type'), subType: said('subType') },
        ...{ units: said('units'), representation: said('representation') || 'VALUE', sampleRate: said('sampleRate') },
        // DataItem, DataItems, and then what has them.
        ...{ component: path.at(-3) ?? '', line: line },
      });
    },
  });
  const other = otherVersion(headerSays, version);
  return { devices, otherVersion: other === null ? null : { said: other, readBy: version } };
}
