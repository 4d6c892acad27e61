import type { Characteristic } from '../kinds/specification.js';
import { anchorId, characteristicAnchor, familyAnchor } from './anchors.js';

/** Addresses of pages, for whatever leads to one. */

/** The pages of a lot, in their order. The first of them is the lot's own address. */
export const LOT_PAGES = ['summary', 'build', 'tests', 'materials', 'checks', 'papers'] as const;
export type LotPage = (typeof LOT_PAGES)[number];

/** @param anchor of a place on the page. */
export function lotAddress(lot: string, page: LotPage = 'summary', anchor = ''): string {
  const path = `/lots/${encodeURIComponent(lot)}${page === 'summary' ? '' : `/${page}`}`;
  return anchor === '' ? path : `${path}#${anchorId(anchor)}`;
}

/** A small picture of what the log showed around a finding. @param id or its first digits. */
export const findingPictureAddress = (lot: string, id: string): string =>
  `${lotAddress(lot)}/findings/${encodeURIComponent(id)}/picture.svg`;

/** What is asked of one implant zone by zone, and what came out. */
export const implantAddress = (lot: string, serial: string): string =>
  `${lotAddress(lot)}/implants/${encodeURIComponent(serial)}`;

/** A characteristic of the family over its builds, as the lot file has it; the first one where none is named. */
export const lotFamilyAddress = (lot: string, characteristic = ''): string =>
  `${lotAddress(lot)}/family${characteristic === '' ? '' : `?characteristic=${encodeURIComponent(characteristic)}`}`;

/** Where all lots that wait for it are assessed again. */
export const ASSESS_AGAIN = '/assess-again';

/** Where results of a lot are typed. */
export const sheetsAddress = (lot: string): string => `/sheets/${encodeURIComponent(lot)}`;

/** Where the file of an instrument is brought in for a lot. */
export const exportAddress = (lot: string): string => `/intake/export/${encodeURIComponent(lot)}`;

/** Where it is entered what happened to a lot: its closures, steps, labels and what became of its parts. */
export const happenedAddress = (lot: string): string => `/enter/lot?of=${encodeURIComponent(lot)}`;

/** So many findings are named in one address, which then stays below two thousand letters. */
const MOST_FINDINGS = 120;

/** The form that opens a nonconformity, filled in from findings of a lot. */
export const nonconformityAddress = (lot: string, findings: readonly string[]): string =>
  `/enter/nonconformity?lot=${encodeURIComponent(lot)}&findings=${findings
    .slice(0, MOST_FINDINGS)
    .map((id) => id.slice(0, 12))
    .join(',')}`;

/** The form that says what a signal came from, filled in with what the chart knows of it. */
export const signalOutcomeAddress = (signal: string): string => `/enter/signal-outcome?signal=${signal}`;

export const findAddress = (identifier: string): string => `/find?id=${encodeURIComponent(identifier)}`;

/** A file as it came. */
export const evidenceAddress = (sha256: string): string => `/evidence/${sha256}`;

/** What a digital calibration certificate says, value by value. */
export const calibrationAddress = (sha256: string): string => `/evidence/${sha256}/certificate`;

/** The certificate of a receipt, and where in its file each value stands. */
export const receiptCertificateAddress = (receipt: string): string =>
  `/receipts/${encodeURIComponent(receipt)}/certificate`;

export const recallAddress = (code: string): string => `/recalls/${encodeURIComponent(code)}`;

/** Where the pages of a lot tell what its record tells at an anchor that begins so. */
const PAGE_OF_ANCHOR: readonly (readonly [start: string, page: LotPage])[] = [
  ['check ', 'checks'],
  ['result ', 'tests'],
  ['result-rows', 'tests'],
  ['characteristic ', 'tests'],
  ['open tests', 'tests'],
  ['corrections', 'tests'],
  ['finding ', 'build'],
  ['log findings', 'build'],
];

const FAMILY_OF = familyAnchor('');

/** The place on the pages of a lot that tells what its record tells at this anchor. */
export function lotAnchorAddress(lot: string, anchor: string): string {
  if (anchor.startsWith(FAMILY_OF)) return lotFamilyAddress(lot, anchor.slice(FAMILY_OF.length));
  // A value stands once on the pages, with its verdict beside it.
  if (anchor.startsWith('verdict ')) return lotAddress(lot, 'tests', anchor.replace('verdict', 'result'));
  const found = PAGE_OF_ANCHOR.find(([start]) => anchor.startsWith(start));
  return found ? lotAddress(lot, found[1], anchor) : lotAddress(lot);
}

/** Where a lot tells its values of a characteristic, each with the file that it came in. */
export const valuesOfLot =
  ({ characteristic }: Pick<Characteristic, 'characteristic'>) =>
  (lot: string): string =>
    lotAnchorAddress(lot, characteristicAnchor(characteristic));

const trendQuery = (family: string, characteristic: string): string =>
  `family=${encodeURIComponent(family)}&characteristic=${encodeURIComponent(characteristic)}`;

/** A characteristic of a family over its builds, as it stands now. */
export const trendAddress = (family: string, characteristic: string): string =>
  `/trend?${trendQuery(family, characteristic)}`;

/** Its builds as a table for other programs. */
export const trendCsvAddress = (family: string, characteristic: string): string =>
  `/trend.csv?${trendQuery(family, characteristic)}`;

/** What certificates say of one property of a material. */
export const certificatesAddress = (material: string, property: string): string =>
  `/certificates?material=${encodeURIComponent(material)}&property=${encodeURIComponent(property)}`;

/** The paper of what was stated of it once. */
export const statementAddress = (family: string, characteristic: string, number: number): string =>
  `/trend/statement.pdf?${trendQuery(family, characteristic)}&number=${number}`;

/** The design history of a family. */
export const designAddress = (family: string): string => `/design?family=${encodeURIComponent(family)}`;

/** What a family has shown so far, and where a case lies beside it. */
export const rangesAddress = (family: string, code = ''): string =>
  `/design/ranges?family=${encodeURIComponent(family)}${code === '' ? '' : `&case=${encodeURIComponent(code)}`}`;

/** One document of a design with its ties. */
export const designEntryAddress = (family: string, { kind, key }: { kind: string; key: string }): string =>
  `/design/entry?family=${encodeURIComponent(family)}&kind=${encodeURIComponent(kind)}&key=${encodeURIComponent(key)}`;

/** A baseline of a design against the design as it stands. */
export const designSinceAddress = (family: string, baseline: string): string =>
  `/design/compare?family=${encodeURIComponent(family)}&from=${encodeURIComponent(baseline)}&to=`;

/** A change of a design: what it touches, and the answer to each line. */
export const designChangeAddress = (family: string, change: string): string =>
  `/design/change?family=${encodeURIComponent(family)}&change=${encodeURIComponent(change)}`;
