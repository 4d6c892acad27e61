import { assessingCode, versionOf } from './assessing-code.js';

/**
 * Which rules assess: two programs with the same one come to the same verdict on the same lot file. It changes with a
 * check, a plan or the arithmetic under them, and with nothing else: not with pages, words or the store. A checkout and
 * the package made of it have the same, since both hold the same compiled files and the same lock file.
 *
 * Once compiled, this file says the version itself (`scripts/write-assessment-version.mjs`): reading all that code took
 * every command 20 ms.
 */
export const ASSESSMENT_VERSION = versionOf(assessingCode());
