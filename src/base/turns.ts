/**
 * Turns for work that never waits by itself: questions to a database that answers at once go on in one stretch, however
 * many they are, and meanwhile nobody else is heard. Whoever asks often lets others go first once its stretch has lasted.
 */
export class Turns {
  /** When the stretch began that goes on now. */
  private begun: number | undefined;

  /** @param longestMs of a stretch. */
  constructor(private readonly longestMs: number) {}

  /** @returns what to wait for before going on; undefined where nothing is to be waited for. */
  next(): Promise<void> | undefined {
    if (this.begun === undefined) {
      this.begun = performance.now();
      setImmediate(() => {
        this.begun = undefined;
      });
      return undefined;
    }
    if (performance.now() - this.begun < this.longestMs) return undefined;
    return new Promise((resolve) => setImmediate(resolve));
  }
}
