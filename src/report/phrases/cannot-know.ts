/** What no search can tell, however complete its answer is: said beside each. */
export const CANNOT_KNOW: readonly string[] = [
  'what happened outside the cell and was not reported to it: use at an institution, transport, storage',
  'what was never taken in, or was taken in under another name',
  'what stood in evidence that was redacted or destroyed: its hash and its links stay, its content does not',
];
