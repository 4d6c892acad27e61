/**
 * Works on things, some at a time. When one fails no other is begun, and the first fault is thrown when those under way have
 * ended.
 */
export async function eachAtOnce<T>(
  items: readonly T[],
  atOnce: number,
  work: (item: T) => Promise<unknown>,
): Promise<void> {
  const left = [...items];
  const failed: unknown[] = [];
  const run = async () => {
    for (let item = left.shift(); item !== undefined && failed.length === 0; item = left.shift()) {
      await work(item).catch((error: unknown) => failed.push(error));
    }
  };
  await Promise.all(Array.from({ length: atOnce }, run));
  if (failed.length > 0) throw failed[0];
}
