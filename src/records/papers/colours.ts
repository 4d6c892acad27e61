/** Codes are read by cameras: full black on white. */
export const INK = '#000000';
export const PAPER_COLOUR = '#ffffff';
