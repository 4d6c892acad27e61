import { BadInputError, type Problem } from '../base/errors.js';

/** What is wrong with the file of a shape, and where: the line of a text, the byte of anything else. */
export interface ShapeFault {
  readonly code: string;
  readonly line?: number;
  readonly found: string;
  readonly expected: string;
  readonly remedy?: string;
}

const AGAIN = 'export it again, and compare its size with that at the scanner';

/** @param file as the person knows it. */
export const shapeProblem = (file: string, { remedy = AGAIN, ...fault }: ShapeFault): Problem => ({
  ...fault,
  file,
  remedy,
});

/** Ends the reading of a file. The file is named by whoever opened it. */
export class ShapeFaultError extends Error {
  constructor(readonly fault: ShapeFault) {
    super(fault.code);
  }
}

export function fail(fault: ShapeFault): never {
  throw new ShapeFaultError(fault);
}

/** The same error told of its file; any other error as it is. */
export const ofFile = (error: unknown, file: string): unknown =>
  error instanceof ShapeFaultError ? new BadInputError([shapeProblem(file, error.fault)]) : error;
