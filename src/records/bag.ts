import { sha256Hex } from '../dossier/canonical.js';

/** A file of the payload: its place below `data/`, and what was counted of its bytes. */
export interface PayloadFile {
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
}

export interface BagInformation {
  readonly organisation: string;
  readonly identifier: string;
  readonly description: string;
  /** Calendar day of packing. */
  readonly day: string;
  readonly program: string;
  /** What was left out of the bag, and why. */
  readonly leftOut: readonly string[];
}

/** Names that every system can unpack; anything else becomes an underscore, so that no name needs encoding. */
export const plainName = (name: string): string => name.replace(/[^A-Za-z0-9._-]+/g, '_').replace(/^\.+/, '_') || '_';

/**
 * The tag files of a BagIt folder of version 1.0 (RFC 8493) over this payload: declaration, information, manifest, and
 * the manifest of these. `sha256sum -c` reads both manifests in the folder.
 */
export function bagTags(information: BagInformation, payload: readonly PayloadFile[]): [name: string, text: string][] {
  const sorted = [...payload].sort((a, b) => (a.path < b.path ? -1 : 1));
  const tags: [string, string][] = [
    ['bagit.txt', 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n'],
    ['bag-info.txt', informationText(information, payload)],
    ['manifest-sha256.txt', sorted.map(({ path, sha256 }) => `${sha256}  data/${path}\n`).join('')],
  ];
  const tagManifest = tags.map(([name, text]) => `${sha256Hex(text)}  ${name}\n`).join('');
  return [...tags, ['tagmanifest-sha256.txt', tagManifest]];
}

function informationText(information: BagInformation, payload: readonly PayloadFile[]): string {
  const octets = payload.reduce((sum, file) => sum + file.bytes, 0);
  const lines: [string, string][] = [
    ['Source-Organization', information.organisation],
    ['External-Identifier', information.identifier],
    ['External-Description', information.description],
    ['Bagging-Date', information.day],
    ['Payload-Oxum', `${octets}.${payload.length}`],
    ['Bag-Software-Agent', information.program],
    ...information.leftOut.map((says): [string, string] => ['Internal-Sender-Description', says]),
  ];
  return lines.map(([name, value]) => `${name}: ${value.replace(/\s+/g, ' ')}\n`).join('');
}
