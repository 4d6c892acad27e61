import type { Cell } from '../cell.js';
import { AFTER_RELEASE_DOCUMENTS, AFTER_RELEASE_FILES } from './after-release.js';
import { CASE_DOCUMENTS, CASE_FILES } from './cases.js';
import { DEGRADATION_DOCUMENTS, DEGRADATION_FILES } from './degradation.js';
import { DESIGN_DOCUMENTS, DESIGN_FILES } from './design-history.js';

/** A document of each kind of the site that `makeCell` has none of, and the files that they name. */
export const SITE_DOCUMENTS: Cell['documents'] = {
  ...CASE_DOCUMENTS,
  ...DEGRADATION_DOCUMENTS,
  ...AFTER_RELEASE_DOCUMENTS,
  ...DESIGN_DOCUMENTS,
};
export const SITE_FILES: Cell['files'] = {
  ...CASE_FILES,
  ...DEGRADATION_FILES,
  ...AFTER_RELEASE_FILES,
  ...DESIGN_FILES,
};
