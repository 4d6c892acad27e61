import type { Told } from './phrase.js';

/** What checks on designs looked at. No case is named: it is printed in the copy for the institution of another one. */
export const designsText = ({ designs }: Told): string => `built design iterations: ${designs}`;
