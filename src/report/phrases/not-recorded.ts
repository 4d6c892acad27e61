/** Said outright where this version has no facts, so that nobody takes an empty section for a clean one. */
export const NOT_RECORDED = 'not recorded by this version';

/** `Media and tool numbers: not recorded by this version.` */
export const notRecordedText = (what: string): string => `${what}: ${NOT_RECORDED}.`;
