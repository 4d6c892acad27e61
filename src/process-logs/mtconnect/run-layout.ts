/**
 * How a record lies in a run: time, sequence and value as doubles, then role, line, file and the length of its text as whole
 * numbers of 32 bits, in the order of bytes of this machine, and its text, filled up so that each record begins at a multiple
 * of eight.
 */
export const HEAD_BYTES = 40;

export const padded = (length: number): number => (length + 7) & ~7;
