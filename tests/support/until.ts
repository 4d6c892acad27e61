/**
 * Looks until what is looked for is there, and gives it: anything but undefined, null or false. It has no end of its own,
 * since on a busy machine every count of looks is too small; what never comes is ended with the run.
 */
export async function until<T>(look: () => T | Promise<T>): Promise<Exclude<T, undefined | null | false>> {
  for (;;) {
    const found = await look();
    if (found !== undefined && found !== null && found !== false) {
      return found as Exclude<T, undefined | null | false>;
    }
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
