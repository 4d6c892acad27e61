import type { Cell } from '../cell.js';
import { CASE_DOCUMENTS, CASE_FILES } from './cases.js';

/** A document of each kind of the site that `makeCell` has none of, and the files that they name. */
export const SITE_DOCUMENTS: Cell['documents'] = { ...CASE_DOCUMENTS };
export const SITE_FILES: Cell['files'] = { ...CASE_FILES };
