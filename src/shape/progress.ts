export interface ShapeProgress {
  readonly doneBytes: number;
  readonly totalBytes: number;
}

/** How far one reading of a file is. */
export type Step = (done: number, total: number) => void;

/**
 * Scans are read more than once, and each reading is told as its part of all.
 * @param readings how many there are.
 * @param signal ends the work at the next piece of a file, with an AbortError.
 * @returns what is told of a reading, counted from 0.
 */
export const readingSteps =
  (readings: number, onProgress: (progress: ShapeProgress) => void, signal: AbortSignal | undefined) =>
  (reading: number): Step =>
  (done, total) => {
    signal?.throwIfAborted();
    onProgress({ doneBytes: reading * total + done, totalBytes: readings * total });
  };
