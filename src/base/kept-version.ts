import { keepingCode, versionOf } from './assessing-code.js';

/**
 * Which code makes what is kept of lots: with another one all of it is made anew. Once compiled, this file says it itself,
 * as `assessment-version.ts` does.
 */
export const KEPT_VERSION = versionOf(keepingCode());
