import type { SectionName } from './record-template.js';

/** Names of places to which pages and records lead. */

/** Result rows by number, from 1, as the results table and the links to it count them. */
export const resultAnchor = (row: number): string => `result ${row}`;
/** Where a result row is judged first. */
export const verdictAnchor = (row: number): string => `verdict ${row}`;
export const signatureAnchor = (digest: string): string => `statement ${digest.slice(0, 12)}`;
export const evidenceAnchor = (sha256: string): string => `evidence ${sha256.slice(0, 12)}`;
export const findingAnchor = (id: string): string => `finding ${id.slice(0, 12)}`;
export const short = (digest: string): string => digest.slice(0, 12);
export const checkAnchor = (code: string): string => `check ${code}`;
/** Where a characteristic is judged, and where its family is described. */
export const characteristicAnchor = (characteristic: string): string => `characteristic ${characteristic}`;
export const familyAnchor = (characteristic: string): string => `family-of ${characteristic}`;
export const unitAnchor = (serial: string): string => `unit ${serial}`;
export const sectionAnchor = (section: SectionName): string => `section ${section}`;
/** Head of the table of result rows. */
export const RESULT_ROWS = 'result-rows';

/** The table of what each person did for a lot. */
export const PARTS_ANCHOR = 'parts-of-people';

/** The id of a place in a page that goes by this anchor: `result 12` becomes `result-12`. */
export const anchorId = (anchor: string): string => anchor.replaceAll(/[^\p{L}\p{N}_-]+/gu, '-');

/** Where exceptions stand of which page 1 tells the first alone. */
export const EXCEPTIONS_ANCHOR = 'all-exceptions';
