/** Under which key the record of a lot is issued: of one lot one at a time. */
export const recordJobKey = (lot: string): string => `record ${lot}`;
